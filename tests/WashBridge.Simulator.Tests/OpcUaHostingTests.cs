using Microsoft.Extensions.Time.Testing;
using WashBridge.Core.Signals;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Hosting;
using WashBridge.Simulator.Nodes;

namespace WashBridge.Simulator.Tests;

/// <summary>Simulated washers behind OPC UA servers.</summary>
public sealed class OpcUaHostingTests
{
    private static readonly UaServerOptions Open = new() { Endpoints = [ServerEndpoint.Unprotected], AllowAnonymous = true };

    [Fact]
    public async Task Every_signal_is_a_variable_with_its_present_value_its_type_and_its_unit()
    {
        await using var host = await SimulationHost.StartAsync([new HostedController(North(), 0, Open)], TimeProvider.System);
        await using var session = await Connect(host);
        var washer = host.Washers[0].Washer;
        var nodes = await session.ResolveAsync([.. washer.Map.Select(m => Address(m.Signal))], TestContext.Current.CancellationToken);
        Assert.All(nodes, n => Assert.True(n.Status.IsGood, n.Status.ToString()));
        var values = await session.ReadValuesAsync([.. nodes.Select(n => n.Node)], cancellation: TestContext.Current.CancellationToken);

        foreach (var (register, value) in washer.Map.Zip(values.Values))
        {
            Assert.True(value.Status.IsGood, $"{register.Signal}: {value.Status}");
            Assert.Equal(
                register.Signal.Type switch
                {
                    SignalType.Flag => BuiltInType.Boolean,
                    SignalType.Integer => BuiltInType.UInt32,
                    SignalType.Text => BuiltInType.String,
                    _ => BuiltInType.Float,
                },
                value.Value.Type);
        }

        var unit = await session.ResolveAsync([NodeAddress.Parse($"/Objects/{Name("Washer")}/{Name("Temperature")}/{Name("Caustic")}.EngineeringUnits")], TestContext.Current.CancellationToken);
        var read = await session.ReadValuesAsync([unit[0].Node], cancellation: TestContext.Current.CancellationToken);
        Assert.True(read.Values[0].Value.As<ExtensionObject>().TryDecode<EUInformation>(Protocols.OpcUa.Encoding.DecodingLimits.Default, out var decoded));
        Assert.Equal("°C", decoded!.DisplayName.Text); // UNECE Recommendation 20, common code CEL
    }

    [Fact]
    public void A_read_brings_the_washer_to_the_present_and_tells_when_a_state_began()
    {
        var start = new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero);
        var time = new FakeTimeProvider(start);
        var washer = North();
        var nodes = new WasherNodes(washer, start, time.GetTimestamp(), time);
        nodes.Space.Refreshing = () =>
        {
            washer.AdvanceTo(time.GetUtcNow() - start);
            nodes.Refresh();
        };
        time.Advance(TimeSpan.FromSeconds(12));
        nodes.Space.Refreshing();
        var running = (UaVariable)nodes.Space.Find(new NodeId(nodes.Space.AddNamespace(NodeNames.NamespaceUri), "Sequence.Running"))!;

        Assert.True(running.Current.Value.As<bool>());
        Assert.Equal(start + washer.CurrentCycle!.Start, new DateTimeOffset(running.Current.SourceTimestamp!.Value));
    }

    [Fact]
    public async Task A_lost_connection_closes_the_server_and_the_same_port_answers_when_it_is_back()
    {
        var time = new FakeTimeProvider(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero));
        await using var host = await SimulationHost.StartAsync(
            [new HostedController(North(new ConnectionLoss { When = When.At(TimeSpan.FromSeconds(10)), Duration = TimeSpan.FromSeconds(20) }), 0, Open)], time);
        await (await Connect(host)).DisposeAsync();
        time.Advance(TimeSpan.FromSeconds(11));
        await host.Settled();
        Assert.False(host.Washers[0].IsListening);
        await Assert.ThrowsAsync<UaException>(() => Connect(host));
        time.Advance(TimeSpan.FromSeconds(20));
        await host.Settled();
        await (await Connect(host)).DisposeAsync();
    }

    private static string Name(string name) => $"nsu={NodeNames.NamespaceUri};{name}";

    private static NodeAddress Address(Signal signal) => NodeAddress.Parse($"nsu={NodeNames.NamespaceUri};s={NodeNames.IdOf(signal)}");

    private static SimulatedWasher North(params Fault[] faults) => new(DemoScenario.Washers[0].Options with { Faults = faults });

    private static Task<UaSession> Connect(SimulationHost host) => UaSession.ConnectAsync(
        new UaClientOptions
        {
            Endpoint = new Uri($"opc.tcp://127.0.0.1:{host.Washers[0].Endpoint.Port}"),
            Policy = SecurityPolicy.None,
            Mode = MessageSecurityMode.None,
            Identity = UserIdentity.Anonymous,
        },
        null,
        TimeProvider.System,
        TestContext.Current.CancellationToken);
}
