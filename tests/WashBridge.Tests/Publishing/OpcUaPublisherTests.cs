using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Publishing;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Polling;
using StatusCodes = WashBridge.Protocols.OpcUa.StatusCodes;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Publishing;

/// <summary>What plant systems see of a simulated washer of the demonstration, polled in virtual time and judged.</summary>
public sealed class OpcUaPublisherTests : IDisposable
{
    private static readonly string[] Verdicts = ["not judged yet", "met", "not met", "not proven"];

    private readonly TemporaryFolder _folder = new();
    private readonly Site _site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
    private readonly FakeTimeProvider _time = new(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero));
    private readonly IHistorian _historian;
    private readonly OpcUaApplication _application;
    private readonly VirtualPoller _poller;
    private readonly Analyst _analyst;
    private readonly OpcUaPublisher _publisher;
    private readonly AddressSpace _space;
    private TimeSpan _run;

    public OpcUaPublisherTests()
    {
        _historian = HistorianFile.Open(_folder["plant.washdb"], new HistorianOptions(), _time);
        _application = new OpcUaApplication(_site.OpcUa with { Pki = _folder["pki"] }, _time);
        _poller = new VirtualPoller(new SimulatedWasher(DemoScenario.Washers[0].Options with { Faults = [] }), new PollerOptions { Start = Instant.Floor(_time.GetUtcNow()) });
        _analyst = new Analyst(_historian, _site.Washers);
        _publisher = Publisher();
        _space = _publisher.Fill();
    }

    public void Dispose()
    {
        _application.Dispose();
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void Every_mapped_signal_is_a_node_with_its_type_unit_and_meaning()
    {
        foreach (var washer in _site.Washers)
        {
            Assert.All(washer.Tags, tag => Assert.NotNull(Signal(tag.Signal)));
        }

        var temperature = Signal(_site.Washers[0].Tags.Single(t => t.Signal.Name == "temperature.caustic").Signal);
        Assert.Equal(Units.Celsius, temperature.Definition.Unit);
        Assert.Equal("Temperature of the caustic bath.", temperature.Description.Text);
        Assert.Equal(BuiltInType.Boolean, Node("north/Stations/2/Signals/keg.present").Definition.Type);
    }

    [Fact]
    public void Before_anything_was_read_values_say_so()
    {
        Assert.Equal(StatusCodes.BadWaitingForInitialData, Node("north/Signals/sequence.step").Current.Status);
        Assert.Equal(0u, Node("north/Stations/1/LastKeg/Verdict").Current.Value.Value);
    }

    [Fact]
    public void Signals_and_cycle_are_those_of_the_moment()
    {
        Run(TimeSpan.FromSeconds(35));

        Assert.True(Read<bool>("north/Cycle/Running"));
        Assert.NotEmpty(Read<string>("north/Cycle/Id")!);
        Assert.Equal("caustic-wash", Read<string>("north/Cycle/Phase"));
        Assert.Equal(1u, Read<uint>("north/Cycle/Pass"));
        Assert.InRange(Read<long>("north/Signals/sequence.step"), 21, 23);
        Assert.InRange(Read<double>("north/Signals/temperature.caustic"), 20, 90);
        var told = Node("north/Signals/sequence.step").Current.SourceTimestamp!.Value;
        Assert.InRange(told, _time.GetUtcNow().UtcDateTime.AddSeconds(-35), _time.GetUtcNow().UtcDateTime);
    }

    [Fact]
    public void After_a_cycle_each_station_has_its_kegs_verdict()
    {
        Run(TimeSpan.FromSeconds(190));

        Assert.False(Read<bool>("north/Cycle/Running"));
        Assert.Equal("completed", Read<string>("north/Cycle/Outcome"));
        foreach (var station in new[] { 1, 2 })
        {
            Assert.Equal("met", Verdicts[Read<uint>($"north/Stations/{station}/LastKeg/Verdict")]);
            Assert.StartsWith("K", Read<string>($"north/Stations/{station}/LastKeg/KegId"), StringComparison.Ordinal);
            Assert.Equal("full-wash version 1", Read<string>($"north/Stations/{station}/LastKeg/Recipe"));
            Assert.Equal("", Read<string>($"north/Stations/{station}/LastKeg/Reasons"));
        }
    }

    [Fact]
    public void A_publisher_that_starts_later_knows_the_last_verdicts()
    {
        Run(TimeSpan.FromSeconds(190));
        var later = Publisher();

        Assert.Equal(1u, Node("north/Stations/1/LastKeg/Verdict", later.Fill()).Current.Value.Value);
    }

    [Fact]
    public void A_lost_source_is_an_alarm_and_its_values_are_bad()
    {
        Run(TimeSpan.FromSeconds(10));
        var now = Instant.Floor(_time.GetUtcNow());
        Append([.. Enumerable.Range(0, 3).Select(g => new Frame { Washer = "north", Group = g, Kind = FrameKind.Failed, Read = TimeBounds.At(now), Reason = "the cable is out" })]);

        Assert.True(Read<bool>("north/Alarms/ConnectionLost"));
        Assert.Equal("the cable is out", Read<string>("north/Alarms/ConnectionLostReason"));
        Assert.False(Read<bool>("yard/Alarms/ConnectionLost"));
        Assert.All(_site.Washers[0].Tags, t => Assert.Equal(StatusCodes.BadNoCommunication, Signal(t.Signal).Current.Status));

        // The poller's next frames tell only changes; a full one comes with the heartbeat.
        Run(TimeSpan.FromSeconds(75));
        Assert.False(Read<bool>("north/Alarms/ConnectionLost"));
        Assert.True(Node("north/Signals/sequence.step").Current.Status.IsGood);
    }

    [Fact]
    public void Alarms_are_counted_and_told_and_a_publisher_that_starts_later_knows_them()
    {
        _publisher.CatchUp();
        Assert.Equal((0u, 0u, "", "[]"), (Read<uint>("north/Alarms/Standing"), Read<uint>("north/Alarms/HighestPriority"), Read<string>("north/Alarms/Texts"), Read<string>("north/Alarms/List")));
        _historian.AppendEvents([
            Alarm("heater", AlarmPriority.Low, AlarmState.Unacknowledged),
            Alarm("drain-valve@1", AlarmPriority.High, AlarmState.Unacknowledged),
            Alarm("co2-supply", AlarmPriority.High, AlarmState.ReturnedUnacknowledged),
            Alarm("spray-pump", AlarmPriority.Medium, AlarmState.Shelved),
            Alarm("bath/acid", AlarmPriority.Medium, AlarmState.Normal),
        ]);
        _publisher.CatchUp();
        Check(_space);
        Check(Publisher().Fill());
        _historian.AppendEvents([Alarm("drain-valve@1", AlarmPriority.High, AlarmState.Acknowledged), Alarm("drain-valve@1", AlarmPriority.High, AlarmState.Normal)]);
        _publisher.CatchUp();
        Assert.Equal((1u, 1u, 2u), (Read<uint>("north/Alarms/Standing"), Read<uint>("north/Alarms/HighestPriority"), Read<uint>("north/Alarms/Unacknowledged")));

        void Check(AddressSpace space)
        {
            uint Count(string name) => (uint)Node($"north/Alarms/{name}", space).Current.Value.Value!;
            Assert.Equal([2u, 1u, 0u, 1u, 3u, 3u], new[] { "Standing", "StandingHigh", "StandingMedium", "StandingLow", "Unacknowledged", "HighestPriority" }.Select(Count));
            Assert.Equal("drain-valve@1 what\nheater what", Node("north/Alarms/Texts", space).Current.Value.Value);
            using var list = System.Text.Json.JsonDocument.Parse((string)Node("north/Alarms/List", space).Current.Value.Value!);
            Assert.Equal(["drain-valve@1", "heater", "co2-supply", "spray-pump"], list.RootElement.EnumerateArray().Select(a => a.GetProperty("alarm").GetString()));
            Assert.Equal("returned-unacknowledged", list.RootElement[2].GetProperty("state").GetString());
            Assert.Equal("look", list.RootElement[0].GetProperty("lookAt").GetString());
        }
    }

    private static AlarmChanged Alarm(string alarm, AlarmPriority priority, AlarmState to) => new()
    {
        Id = $"{alarm}/{to}", Washer = "north", At = TimeBounds.At(Instant.Parse("2031-03-05T07:59:00Z")), Alarm = alarm, From = AlarmState.Normal, To = to, Priority = priority,
        Since = to == AlarmState.Unacknowledged ? Instant.Parse("2031-03-05T07:58:00Z") : null, Text = new AlarmText { What = alarm + " what", Kegs = "kegs", LookAt = "look" },
    };

    private OpcUaPublisher Publisher() => new(_site, _application, _historian, new HistorianSignal(), _time, NullLogger<OpcUaPublisher>.Instance);

    private void Run(TimeSpan span)
    {
        _time.Advance(span);
        _run += span;
        Append([.. _poller.PollUntil(_run)]);
    }

    private void Append(List<Frame> frames)
    {
        _historian.AppendFrames(frames);
        _analyst.CatchUp();
        _publisher.CatchUp();
    }

    private T? Read<T>(string path) => Node(path).Current.Value.As<T>();

    private UaVariable Signal(Signal signal) => Node(signal.Station == 0 ? $"{signal.Washer}/Signals/{signal.Name}" : $"{signal.Washer}/Stations/{signal.Station}/Signals/{signal.Name}");

    private UaVariable Node(string path, AddressSpace? space = null)
    {
        var nodes = space ?? _space;
        return Assert.IsType<UaVariable>(nodes.Find(new NodeId(nodes.AddNamespace(OpcUaPublisher.NamespaceOf(_site)), path)));
    }
}
