namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Node ids of namespace 0 that the code refers to (OPC 10000-6, annex A.3; meaning in OPC 10000-5).</summary>
internal static class StandardIds
{
    public const string NamespaceUri = "http://opcfoundation.org/UA/";

    public static readonly NodeId BaseDataType = new(24);
    public static readonly NodeId Enumeration = new(29);
    public static readonly NodeId HierarchicalReferences = new(33);
    public static readonly NodeId Organizes = new(35);
    public static readonly NodeId HasTypeDefinition = new(40);
    public static readonly NodeId HasSubtype = new(45);
    public static readonly NodeId HasProperty = new(46);
    public static readonly NodeId HasComponent = new(47);

    public static readonly NodeId BaseObjectType = new(58);
    public static readonly NodeId FolderType = new(61);
    public static readonly NodeId BaseDataVariableType = new(63);
    public static readonly NodeId PropertyType = new(68);
    public static readonly NodeId AnalogItemType = new(2368);
    public static readonly NodeId TwoStateDiscreteType = new(2373);
    public static readonly NodeId MultiStateDiscreteType = new(2376);
    public static readonly NodeId AnalogUnitType = new(17497);

    public static readonly NodeId RootFolder = new(84);
    public static readonly NodeId ObjectsFolder = new(85);
    public static readonly NodeId Server = new(2253);

    public static readonly NodeId Range = new(884);
    public static readonly NodeId EUInformation = new(887);
}
