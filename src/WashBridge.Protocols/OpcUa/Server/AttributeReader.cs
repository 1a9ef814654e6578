using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Reads attributes of nodes (OPC 10000-4, 5.11.2; which node has which: OPC 10000-3, 5).</summary>
internal static class AttributeReader
{
    private const byte CurrentRead = 1;

    /// <summary>The attribute with the value's own times, or why it cannot be had.</summary>
    /// <param name="range">The parsed index range of <paramref name="wanted"/>.</param>
    public static DataValue Read(AddressSpace space, in ReadValueId wanted, IndexRange? range)
    {
        if (!space.TryFind(wanted.NodeId, out var node))
        {
            return Bad(StatusCodes.BadNodeIdUnknown);
        }

        var value = wanted.AttributeId == AttributeIds.Value && node is UaVariable variable ? variable.Current
            : Read(node, wanted.AttributeId) is { } attribute ? new DataValue(attribute)
            : Bad(StatusCodes.BadAttributeIdInvalid);
        if (CheckEncoding(wanted, value) is { IsBad: true } status)
        {
            return Bad(status);
        }

        return Cut(value, range);
    }

    public static DataValue Cut(in DataValue value, IndexRange? range)
    {
        if (range is null || value.Status.IsBad)
        {
            return value;
        }

        var status = range.Apply(value.Value, out var part);
        return status.IsBad ? value with { Value = default, Status = status } : value with { Value = part };
    }

    /// <summary>Whether the node has such an attribute.</summary>
    public static bool Has(UaNode node, uint attributeId) =>
        (attributeId == AttributeIds.Value && node is UaVariable) || Read(node, attributeId) is not null;

    /// <summary>The encoding of structures can be chosen, of nothing else; only the binary one is here (OPC 10000-4, 7.29).</summary>
    public static StatusCode CheckEncoding(in ReadValueId wanted, in DataValue value) => wanted.DataEncoding switch
    {
        { Name: null or "" } => StatusCodes.Good,
        _ when value.Status.IsBad => StatusCodes.Good,
        _ when wanted.AttributeId != AttributeIds.Value || value.Value.Type != BuiltInType.ExtensionObject => StatusCodes.BadDataEncodingInvalid,
        { Namespace: 0, Name: "Default Binary" } => StatusCodes.Good,
        { Namespace: 0, Name: "Default XML" or "Default JSON" } => StatusCodes.BadDataEncodingUnsupported,
        _ => StatusCodes.BadDataEncodingInvalid,
    };

    private static DataValue Bad(StatusCode status) => new(default, status);

    /// <summary>Null: no such attribute, or an optional one that this node does not have.</summary>
    private static Variant? Read(UaNode node, uint attributeId) => attributeId switch
    {
        AttributeIds.NodeId => node.Id,
        AttributeIds.NodeClass => (int)node.NodeClass,
        AttributeIds.BrowseName => node.BrowseName,
        AttributeIds.DisplayName => node.DisplayName,
        AttributeIds.Description => node.Description,
        AttributeIds.WriteMask or AttributeIds.UserWriteMask => 0u,
        _ => node switch
        {
            UaVariable variable => Read(variable, attributeId),
            UaType type => Read(type, attributeId),
            _ => attributeId == AttributeIds.EventNotifier ? (byte)0 : default(Variant?),
        },
    };

    private static Variant? Read(UaVariable variable, uint attributeId) => attributeId switch
    {
        AttributeIds.DataType => variable.DataType,
        AttributeIds.ValueRank => variable.Definition.ValueRank,
        AttributeIds.ArrayDimensions when variable.Definition.ValueRank > 0 =>
            Variant.ArrayOf(variable.Definition.ArrayDimensions?.ToArray() ?? new uint[variable.Definition.ValueRank]),
        AttributeIds.AccessLevel or AttributeIds.UserAccessLevel => CurrentRead,
        AttributeIds.MinimumSamplingInterval => variable.Definition.MinimumSamplingInterval.TotalMilliseconds,
        AttributeIds.Historizing => false,
        _ => default(Variant?), // a bare null would become a null string
    };

    private static Variant? Read(UaType type, uint attributeId) => (attributeId, type.NodeClass) switch
    {
        (AttributeIds.IsAbstract, _) => type.IsAbstract,
        (AttributeIds.Symmetric, NodeClass.ReferenceType) => type.IsSymmetric,
        (AttributeIds.InverseName, NodeClass.ReferenceType) when !type.IsSymmetric => type.InverseName,
        (AttributeIds.DataType, NodeClass.VariableType) => type.DataType,
        (AttributeIds.ValueRank, NodeClass.VariableType) => type.ValueRank,
        _ => default(Variant?), // a bare null would become a null string
    };
}
