using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>The object Server, by which clients find out what a server is and allows (OPC 10000-5, 8.3.2 and 6.3).</summary>
internal sealed class ServerObject(AddressSpace space, UaServerOptions options, DateTime started)
{
    private static readonly NodeId Duration = new(290);
    private static readonly NodeId UtcTime = new(294);
    private static readonly NodeId LocaleId = new(295);
    private static readonly NodeId BuildInfoDataType = new(338);
    private static readonly NodeId RedundancySupport = new(851);
    private static readonly NodeId ServerState = new(852);
    private static readonly NodeId ServerStatusDataType = new(862);

    private readonly UaType hasComponent = space.TypeOf(StandardIds.HasComponent);

    /// <summary>Adds the object with all below it. <see cref="AddressSpace.RemoveStandard"/> takes it away again.</summary>
    public UaObject Add()
    {
        space.SetApplicationUri(options.EffectiveApplicationUri);
        var server = Object(space.Objects, 2253, "Server", 2004, StandardIds.Organizes);
        Property(server, 2254, "ServerArray", Variant.ArrayOf<string?>([options.EffectiveApplicationUri]));
        Live(server, 2255, "NamespaceArray", new VariableDefinition(BuiltInType.String) { ValueRank = 1 }, () => Variant.ArrayOf(space.Namespaces.ToArray()), isProperty: true);
        AddStatus(server);
        Property(server, 2267, "ServiceLevel", (byte)255);
        Property(server, 2994, "Auditing", false);
        AddCapabilities(server);
        var diagnostics = Object(server, 2274, "ServerDiagnostics", 2020);
        Property(diagnostics, 2294, "EnabledFlag", false);
        Object(server, 2295, "VendorServerInfo", 2033);
        var redundancy = Object(server, 2296, "ServerRedundancy", 2034);
        Property(redundancy, 3709, "RedundancySupport", 0, RedundancySupport);
        return server;
    }

    private void AddStatus(UaObject server)
    {
        var build = new BuildInfo(options.ProductUri, "", options.ApplicationName, options.SoftwareVersion, options.SoftwareVersion, DateTime.MinValue);
        var status = Live(server, 2256, "ServerStatus", Structure(ServerStatusDataType), () => ExtensionObject.Of(new ServerStatus(started, Now, 0, build, 0, default)), typeId: 2138);
        Variable(status, 2257, "StartTime", started, UtcTime);
        Live(status, 2258, "CurrentTime", new VariableDefinition(BuiltInType.DateTime) { DataType = UtcTime }, () => Now);
        Variable(status, 2259, "State", 0, ServerState);
        var info = Variable(status, 2260, "BuildInfo", ExtensionObject.Of(build), BuildInfoDataType, typeId: 3051);
        Variable(info, 2262, "ProductUri", build.ProductUri);
        Variable(info, 2263, "ManufacturerName", build.ManufacturerName);
        Variable(info, 2261, "ProductName", build.ProductName);
        Variable(info, 2264, "SoftwareVersion", build.SoftwareVersion);
        Variable(info, 2265, "BuildNumber", build.BuildNumber);
        Variable(info, 2266, "BuildDate", build.BuildDate, UtcTime);
        Variable(status, 2992, "SecondsTillShutdown", 0u);
        Variable(status, 2993, "ShutdownReason", default(LocalizedText));
    }

    private void AddCapabilities(UaObject server)
    {
        var limits = options.Limits;
        var capabilities = Object(server, 2268, "ServerCapabilities", 2013);

        // No profile is claimed: none has been certified.
        Property(capabilities, 2269, "ServerProfileArray", Variant.ArrayOf<string?>([]));
        Property(capabilities, 2271, "LocaleIdArray", Variant.ArrayOf<string?>(["en"]), LocaleId);
        Property(capabilities, 2272, "MinSupportedSampleRate", limits.MinSamplingInterval.TotalMilliseconds, Duration);
        Property(capabilities, 2735, "MaxBrowseContinuationPoints", (ushort)limits.MaxBrowseContinuationPoints);
        Property(capabilities, 2736, "MaxQueryContinuationPoints", (ushort)0);
        Property(capabilities, 2737, "MaxHistoryContinuationPoints", (ushort)0);
        Property(capabilities, 24095, "MaxSessions", (uint)limits.MaxSessions);
        Property(capabilities, 24096, "MaxSubscriptions", (uint)limits.MaxSubscriptions);
        Property(capabilities, 24097, "MaxMonitoredItems", (uint)limits.MaxMonitoredItems);
        Property(capabilities, 24098, "MaxSubscriptionsPerSession", (uint)limits.MaxSubscriptionsPerSession);
        Property(capabilities, 24104, "MaxMonitoredItemsPerSubscription", (uint)limits.MaxMonitoredItemsPerSubscription);
        Property(capabilities, 31916, "MaxMonitoredItemsQueueSize", (uint)limits.MaxQueueSize);
        Object(capabilities, 2996, "ModellingRules", 61);
        Object(capabilities, 2997, "AggregateFunctions", 61);
        var operations = Object(capabilities, 11704, "OperationLimits", 11564);
        Property(operations, 11705, "MaxNodesPerRead", (uint)limits.MaxNodesPerRead);
        Property(operations, 11710, "MaxNodesPerBrowse", (uint)limits.MaxNodesPerBrowse);
        Property(operations, 11711, "MaxNodesPerRegisterNodes", (uint)limits.MaxNodesPerRegister);
        Property(operations, 11712, "MaxNodesPerTranslateBrowsePathsToNodeIds", (uint)limits.MaxNodesPerTranslate);
        Property(operations, 11714, "MaxMonitoredItemsPerCall", (uint)limits.MaxMonitoredItemsPerCall);
    }

    private DateTime Now => space.Time.GetUtcNow().UtcDateTime;

    private static VariableDefinition Structure(NodeId dataType) => new(BuiltInType.ExtensionObject) { DataType = dataType };

    private UaObject Object(UaNode parent, uint id, string name, uint type, NodeId? reference = null) =>
        space.Add(parent, reference is { } other ? space.TypeOf(other) : hasComponent, new NodeId(type), new UaObject(new NodeId(id), new QualifiedName(0, name), new LocalizedText(name), default));

    private void Property(UaNode owner, uint id, string name, Variant value, NodeId? dataType = null) =>
        space.AddProperty(owner, new NodeId(id), new QualifiedName(0, name), value, dataType);

    private UaVariable Variable(UaNode parent, uint id, string name, Variant value, NodeId? dataType = null, uint typeId = 63) =>
        space.Add(parent, hasComponent, new NodeId(typeId), new UaVariable(
            new NodeId(id),
            new QualifiedName(0, name),
            new VariableDefinition(value.Type) { DataType = dataType, InitialValue = value },
            space.Time));

    private UaVariable Live(UaNode parent, uint id, string name, VariableDefinition definition, Func<Variant> read, bool isProperty = false, uint typeId = 63) =>
        space.Add(
            parent,
            isProperty ? space.TypeOf(StandardIds.HasProperty) : hasComponent,
            isProperty ? StandardIds.PropertyType : new NodeId(typeId),
            new UaVariable(new NodeId(id), new QualifiedName(0, name), definition, space.Time, () => new DataValue(read(), default, Now, Now)));
}
