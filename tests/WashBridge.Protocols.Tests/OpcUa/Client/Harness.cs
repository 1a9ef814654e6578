using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>A connection to a scripted server in virtual time. Nothing happens unless the test lets it.</summary>
internal sealed class Harness : IDisposable
{
    private static readonly DateTimeOffset Begin = new(2025, 1, 1, 0, 0, 0, TimeSpan.Zero);
    private UaConnection? connection;

    public Harness()
    {
        Time = new FakeTimeProvider(Begin);
        Scheduler = new StepScheduler(Time);
        Server = new ScriptedServer(Time);
        Listener = new Recorder(Time);
        for (uint i = 1; i <= 4; i++)
        {
            Server.Nodes[Node(i)] = new DataValue((double)i);
        }
    }

    public FakeTimeProvider Time { get; }

    public StepScheduler Scheduler { get; }

    public ScriptedServer Server { get; }

    public Recorder Listener { get; }

    public UaClientOptions Options { get; set; } = new()
    {
        Endpoint = new Uri("opc.tcp://washer.invalid:4840"),
        Policy = SecurityPolicy.None,
        Mode = MessageSecurityMode.None,
        Identity = UserIdentity.Anonymous,
    };

    public UaConnection Connection => connection ??= new UaConnection(Options, Server.OpenAsync, NullLogger.Instance, Time, new Random(1), Scheduler);

    public static NodeId Node(uint i) => new(2, $"V{i}");

    public static DataValue Value(double value) => new(value);

    public static SubscriptionSpec Spec(params MonitoredItemSpec[] items) => new()
    {
        PublishingInterval = TimeSpan.FromMilliseconds(100),
        Items = items.Length > 0 ? items : [Item(1), Item(2)],
    };

    public static MonitoredItemSpec Item(uint handle) => new() { ClientHandle = handle, Node = Node(handle) };

    /// <summary>Connects, subscribes, and takes the initial values.</summary>
    public ScriptedServer.ScriptedSubscription Start(SubscriptionSpec? spec = null)
    {
        Subscribe(spec);
        Until(() => Listener.Notifications.Count > 0, "the initial values");
        return Server.Subscription;
    }

    public UaSubscription Subscribe(SubscriptionSpec? spec = null) => Connection.Subscribe(spec ?? Spec(), Listener);

    public TimeSpan Until(Func<bool> isSo, string what = "what was expected", double seconds = 30) => Scheduler.RunUntil(isSo, TimeSpan.FromSeconds(seconds), what);

    public void Run(double seconds) => Scheduler.Run(TimeSpan.FromSeconds(seconds));

    public void RunAll() => Scheduler.RunAll();

    public UaSession Session() => Scheduler.Run(() => UaSession.ConnectAsync(Options, Server.OpenAsync, NullLogger.Instance, Time, CancellationToken.None));

    public void Dispose()
    {
        if (connection is not null)
        {
            Scheduler.Run(() => connection.DisposeAsync().AsTask());
        }
    }
}
