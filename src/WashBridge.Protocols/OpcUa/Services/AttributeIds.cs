namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>The attributes of nodes by number (OPC 10000-6, annex A.1).</summary>
public static class AttributeIds
{
    public const uint NodeId = 1;
    public const uint NodeClass = 2;
    public const uint BrowseName = 3;
    public const uint DisplayName = 4;
    public const uint Description = 5;
    public const uint WriteMask = 6;
    public const uint UserWriteMask = 7;
    public const uint IsAbstract = 8;
    public const uint Symmetric = 9;
    public const uint InverseName = 10;
    public const uint ContainsNoLoops = 11;
    public const uint EventNotifier = 12;
    public const uint Value = 13;
    public const uint DataType = 14;
    public const uint ValueRank = 15;
    public const uint ArrayDimensions = 16;
    public const uint AccessLevel = 17;
    public const uint UserAccessLevel = 18;
    public const uint MinimumSamplingInterval = 19;
    public const uint Historizing = 20;
    public const uint Executable = 21;
    public const uint UserExecutable = 22;
    public const uint DataTypeDefinition = 23;
    public const uint RolePermissions = 24;
    public const uint UserRolePermissions = 25;
    public const uint AccessRestrictions = 26;
    public const uint AccessLevelEx = 27;
}
