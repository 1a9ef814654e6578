using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>A server's services without a network, in virtual time, and a client that calls them.</summary>
internal sealed class ServerFixture
{
    public static readonly DateTime Start = new(2026, 3, 1, 6, 0, 0, DateTimeKind.Utc);

    private uint lastRequestId;

    public ServerFixture(UaServerLimits? limits = null, Func<UaServerOptions, UaServerOptions>? change = null, ILogger? logger = null)
    {
        Time = new SteppedTime(Start);
        Space = new AddressSpace(Time);
        Namespace = Space.AddNamespace("urn:test:washer");
        var options = new UaServerOptions { Endpoints = [ServerEndpoint.Unprotected], AllowAnonymous = true, Limits = limits ?? new UaServerLimits() };
        Options = change?.Invoke(options) ?? options;
        Options.Validate();
        new ServerObject(Space, Options, Start).Add();
        Host = new ServiceHost(Options, Space, new EndpointList(Options, 4840), new ServerLog(logger ?? NullLogger.Instance), Time);
    }

    public SteppedTime Time { get; }

    public AddressSpace Space { get; }

    public ushort Namespace { get; }

    public UaServerOptions Options { get; }

    public ServiceHost Host { get; }

    public SubscriptionManager Subscriptions => Host.Subscriptions;

    public static CreateSessionRequest SessionRequest(string applicationUri = "urn:test:client", double timeout = 60_000) => new(
        new ApplicationDescription(applicationUri, null, default, ApplicationType.Client, null, null, []),
        null,
        "opc.tcp://127.0.0.1:4840",
        "test",
        null,
        null,
        timeout,
        0);

    public static ActivateSessionRequest Activation(ExtensionObject token = default) =>
        new(new SignatureData(null, null), [], token, new SignatureData(null, null));

    public UaVariable Variable(string name, BuiltInType type = BuiltInType.Double, EURange? range = null) =>
        Space.AddVariable(Space.Objects, Id(name), name, new VariableDefinition(type) { Range = range });

    public NodeId Id(string name) => new(Namespace, name);

    /// <summary>An activated session of an anonymous client.</summary>
    public async Task<Session> ConnectAsync(FakeConnection connection, string applicationUri = "urn:test:client", double timeout = 60_000)
    {
        var created = Host.Sessions.Create(connection, SessionRequest(applicationUri, timeout));
        await Host.Sessions.ActivateAsync(connection, created.AuthenticationToken, Activation(), TestContext.Current.CancellationToken);
        return Host.Sessions.Use(connection, created.AuthenticationToken);
    }

    public CreateSubscriptionResponse Subscribe(
        Session session,
        double interval = 100,
        uint lifetime = 30,
        uint keepAlive = 10,
        uint maxNotifications = 0,
        bool isPublishing = true,
        byte priority = 0) =>
        Subscriptions.Create(session, new CreateSubscriptionRequest(interval, lifetime, keepAlive, maxNotifications, isPublishing, priority));

    public MonitoredItemCreateResult Monitor(
        Session session,
        uint subscription,
        NodeId node,
        double sampling = 10,
        uint queue = 10,
        bool discardOldest = true,
        ExtensionObject filter = default,
        MonitoringMode mode = MonitoringMode.Reporting,
        uint attribute = AttributeIds.Value,
        uint handle = 1,
        string? range = null) =>
        Subscriptions.CreateItems(session, new CreateMonitoredItemsRequest(
            subscription,
            TimestampsToReturn.Both,
            [new MonitoredItemCreateRequest(new ReadValueId(node, attribute, range, default), mode, new MonitoringParameters(handle, sampling, filter, queue, discardOldest))])).Results[0];

    /// <returns>The id of the request.</returns>
    public uint Publish(Session session, FakeConnection connection, uint timeoutHint = 0, params SubscriptionAcknowledgement[] acknowledgements)
    {
        Subscriptions.Publish(session, connection, ++lastRequestId, handle: lastRequestId + 1000, timeoutHint, new PublishRequest(acknowledgements));
        return lastRequestId;
    }

    public void Advance(double milliseconds) => Time.Advance(TimeSpan.FromMilliseconds(milliseconds));
}
