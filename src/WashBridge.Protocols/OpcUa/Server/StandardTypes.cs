using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>The types of OPC 10000-5 (and of OPC 10000-8, 5.3) that our nodes refer to, with the hierarchies above them.</summary>
internal static class StandardTypes
{
    private const uint None = 0;

    /// <summary>Id, name, supertype, inverse name; abstract types end in a star (OPC 10000-5, 11).</summary>
    private static readonly (uint Id, string Name, uint Super, string? Inverse)[] ReferenceTypes =
    [
        (31, "References*", None, null),
        (32, "NonHierarchicalReferences*", 31, null),
        (33, "HierarchicalReferences*", 31, "InverseHierarchicalReferences"),
        (34, "HasChild*", 33, "ChildOf"),
        (35, "Organizes", 33, "OrganizedBy"),
        (36, "HasEventSource", 33, "EventSourceOf"),
        (37, "HasModellingRule", 32, "ModellingRuleOf"),
        (38, "HasEncoding", 32, "EncodingOf"),
        (39, "HasDescription", 32, "DescriptionOf"),
        (40, "HasTypeDefinition", 32, "TypeDefinitionOf"),
        (41, "GeneratesEvent", 32, "GeneratedBy"),
        (44, "Aggregates*", 34, "AggregatedBy"),
        (45, "HasSubtype", 34, "SubtypeOf"),
        (46, "HasProperty", 44, "PropertyOf"),
        (47, "HasComponent", 44, "ComponentOf"),
        (48, "HasNotifier", 36, "NotifierOf"),
        (49, "HasOrderedComponent", 47, "OrderedComponentOf"),
    ];

    /// <summary>OPC 10000-5, 6.</summary>
    private static readonly (uint Id, string Name, uint Super)[] ObjectTypes =
    [
        (58, "BaseObjectType", None),
        (61, "FolderType", 58),
        (2004, "ServerType", 58),
        (2013, "ServerCapabilitiesType", 58),
        (2020, "ServerDiagnosticsType", 58),
        (2033, "VendorServerInfoType", 58),
        (2034, "ServerRedundancyType", 58),
        (11564, "OperationLimitsType", 61),
    ];

    /// <summary>Id, name, supertype, data type, value rank (OPC 10000-5, 7; OPC 10000-8, 5.3).</summary>
    private static readonly (uint Id, string Name, uint Super, uint DataType, int ValueRank)[] VariableTypes =
    [
        (62, "BaseVariableType*", None, 24, -2),
        (63, "BaseDataVariableType", 62, 24, -2),
        (68, "PropertyType", 62, 24, -2),
        (2138, "ServerStatusType", 63, 862, -1),
        (3051, "BuildInfoType", 63, 338, -1),
        (2365, "DataItemType", 63, 24, -2),
        (15318, "BaseAnalogType", 2365, 26, -2),
        (2368, "AnalogItemType", 15318, 26, -2),
        (17497, "AnalogUnitType", 15318, 26, -2),
        (2372, "DiscreteItemType*", 2365, 24, -2),
        (2373, "TwoStateDiscreteType", 2372, 1, -2),
        (2376, "MultiStateDiscreteType", 2372, 28, -2),
    ];

    /// <summary>OPC 10000-5, 12; OPC 10000-3, 8.</summary>
    private static readonly (uint Id, string Name, uint Super)[] DataTypes =
    [
        (24, "BaseDataType*", None),
        (1, "Boolean", 24),
        (26, "Number*", 24),
        (27, "Integer*", 26),
        (28, "UInteger*", 26),
        (2, "SByte", 27),
        (3, "Byte", 28),
        (4, "Int16", 27),
        (5, "UInt16", 28),
        (6, "Int32", 27),
        (7, "UInt32", 28),
        (8, "Int64", 27),
        (9, "UInt64", 28),
        (10, "Float", 26),
        (11, "Double", 26),
        (12, "String", 24),
        (13, "DateTime", 24),
        (14, "Guid", 24),
        (15, "ByteString", 24),
        (16, "XmlElement", 24),
        (17, "NodeId", 24),
        (18, "ExpandedNodeId", 24),
        (19, "StatusCode", 24),
        (20, "QualifiedName", 24),
        (21, "LocalizedText", 24),
        (22, "Structure*", 24),
        (23, "DataValue", 24),
        (25, "DiagnosticInfo", 24),
        (29, "Enumeration*", 24),
        (288, "IntegerId", 7),
        (289, "Counter", 7),
        (290, "Duration", 11),
        (294, "UtcTime", 13),
        (295, "LocaleId", 12),
        (338, "BuildInfo", 22),
        (851, "RedundancySupport", 29),
        (852, "ServerState", 29),
        (862, "ServerStatusDataType", 22),
        (884, "Range", 22),
        (887, "EUInformation", 22),
    ];

    public static void AddTo(AddressSpace space)
    {
        // HasSubtype, which ties types together, is one of them itself.
        foreach (var (id, name, super, inverse) in ReferenceTypes)
        {
            space.AddNode(Make(space, id, name, NodeClass.ReferenceType, super, inverse: inverse));
        }

        foreach (var (id, _, _, _) in ReferenceTypes)
        {
            Connect(space, space.TypeOf(new NodeId(id)));
        }

        foreach (var (id, name, super) in ObjectTypes)
        {
            Add(space, Make(space, id, name, NodeClass.ObjectType, super));
        }

        foreach (var (id, name, super, dataType, valueRank) in VariableTypes)
        {
            Add(space, Make(space, id, name, NodeClass.VariableType, super, dataType, valueRank));
        }

        foreach (var (id, name, super) in DataTypes)
        {
            Add(space, Make(space, id, name, NodeClass.DataType, super));
        }
    }

    private static UaType Make(AddressSpace space, uint id, string name, NodeClass nodeClass, uint super, uint dataType = 24, int valueRank = -2, string? inverse = null) =>
        new(new NodeId(id), name.TrimEnd('*'), nodeClass, isAbstract: name.EndsWith('*'), super == None ? null : space.TypeOf(new NodeId(super)))
        {
            DataType = new NodeId(dataType),
            ValueRank = valueRank,
            InverseName = new LocalizedText(inverse),
            IsSymmetric = nodeClass == NodeClass.ReferenceType && inverse is null,
        };

    private static void Add(AddressSpace space, UaType type)
    {
        space.AddNode(type);
        Connect(space, type);
    }

    private static void Connect(AddressSpace space, UaType type)
    {
        if (type.SuperType is { } superType)
        {
            AddressSpace.Connect(superType, space.TypeOf(StandardIds.HasSubtype), type);
        }
    }
}
