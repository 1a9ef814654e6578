namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>The nodes of namespace 0 that a client needs (OPC 10000-6, annex A.3; meaning in OPC 10000-5).</summary>
internal static class StandardNodes
{
    public static readonly NodeId HierarchicalReferences = new(33);
    public static readonly NodeId Aggregates = new(44);
    public static readonly NodeId RootFolder = new(84);
    public static readonly NodeId NamespaceArray = new(2255);
    public static readonly NodeId ServerStatus = new(2256);
    public static readonly NodeId MaxBrowseContinuationPoints = new(2735);
    public static readonly NodeId MaxNodesPerRead = new(11705);
    public static readonly NodeId MaxNodesPerBrowse = new(11710);
    public static readonly NodeId MaxNodesPerTranslateBrowsePaths = new(11712);
    public static readonly NodeId MaxMonitoredItemsPerCall = new(11714);
}
