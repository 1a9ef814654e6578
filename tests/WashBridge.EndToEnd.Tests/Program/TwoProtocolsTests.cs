using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Simulator;
using WashBridge.Simulator.Hosting;
using WashBridge.Simulator.Nodes;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Registers;
using WashBridge.Simulator.Truth;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>One washer, read over Modbus and over OPC UA at once: the same cycles, the same verdicts, and the truth within the bounds of both.</summary>
public sealed class TwoProtocolsTests
{
    private const double Speed = 8;
    private static readonly TimeSpan Length = TimeSpan.FromMinutes(7);
    private static readonly TimeSpan TwoClocks = TimeSpan.FromMilliseconds(50);

    [Fact]
    public async Task Both_tell_the_same_cycles_and_verdicts()
    {
        using var folder = new TemporaryFolder();
        var time = new ScaledTime(Speed, TimeProvider.System.GetUtcNow());
        var washer = new SimulatedWasher(new WasherOptions
        {
            Id = "w1",
            Seed = 7,
            Stations = 2,
            Programmes = [InventedProgrammes.Full],
            Instrumentation = Instrumentation.Full,
            FirstStart = TimeSpan.FromSeconds(2 * Speed),
        });
        using var opcUa = new OpcUaApplication(new OpcUaConfiguration { Pki = folder["pki"], ApplicationUri = "urn:washbridge:two", HostNames = ["localhost"] }, time);
        await using var host = await SimulationHost.StartAsync(
            [new HostedController(washer), new HostedController(washer, 0, DemoTrust.Introduce(opcUa, folder["controller"], time))], time);
        var site = new Site
        {
            Id = "two",
            Title = "Two protocols",
            Zone = TimeZoneInfo.Utc,
            Store = new StoreConfiguration { Path = folder["two.washdb"] },
            OpcUa = opcUa.Configuration,
            Washers =
            [
                Washer(washer, "by-modbus", new ModbusConnection { Host = "127.0.0.1", Port = host.Washers[0].Endpoint.Port, Timeout = TimeSpan.FromSeconds(Speed) }, m => new ModbusSource(m.Point), m => m.Scale),
                Washer(
                    washer,
                    "by-opc-ua",
                    new OpcUaConnection { Endpoint = new Uri($"opc.tcp://127.0.0.1:{host.Washers[1].Endpoint.Port}"), Timeout = TimeSpan.FromSeconds(3 * Speed), SessionTimeout = TimeSpan.FromSeconds(60 * Speed) },
                    m => new OpcUaSource(NodeAddress.Parse($"nsu={NodeNames.NamespaceUri};s={NodeNames.IdOf(m.Signal)}")),
                    _ => 1),
            ],
        };
        using (var historian = HistorianFile.Open(site.Store.Path, new HistorianOptions(), time))
        {
            using var ending = new CancellationTokenSource();
            using var timer = time.CreateTimer(_ => ending.Cancel(), null, Length, Timeout.InfiniteTimeSpan);
            await new Bridge(site, historian, new HistorianSignal(), [], time, NullLoggerFactory.Instance, bootId: null, opcUa).RunAsync(ending.Token);
        }

        Compare(site.Store.Path, washer, host.StartedAt);
    }

    private static void Compare(string store, SimulatedWasher washer, DateTimeOffset start)
    {
        using var reader = HistorianFile.OpenReader(store);
        var events = reader.ReadEvents(new EventQuery()).ToList();
        var truths = washer.FinishedCycles.ToList();
        var compared = 0;
        foreach (var truth in truths)
        {
            var records = events.OfType<CycleEnded>().Select(e => e.Cycle).Where(c => Holds(c.Start, start + truth.Start)).OrderBy(c => c.Washer, StringComparer.Ordinal).ToList();
            Assert.Equal(["by-modbus", "by-opc-ua"], records.Select(c => c.Washer));
            if (records.Exists(r => r.Gaps.Count > 0))
            {
                continue; // this machine stalled: in hurried time that is a gap, which the two need not see alike
            }

            Assert.All(records, r => Truth(r, truth, start));
            Assert.Equal(Shape(records[0]), Shape(records[1]));
            var verdicts = records.ConvertAll(r => events.OfType<KegJudged>().Where(k => k.CycleId == r.Id).OrderBy(k => k.Verdict.Station).Select(k => (k.Verdict.Station, k.Verdict.Verdict)).ToList());
            Assert.Equal(verdicts[0], verdicts[1]);
            Assert.Equal(2, verdicts[0].Count);
            compared++;
        }

        Assert.True(compared >= 1, $"{compared} cycles were compared");
        Assert.Contains(events.OfType<KegJudged>(), k => k.Verdict.Verdict == Verdict.Met);
    }

    private static void Truth(CycleRecord record, TrueCycle truth, DateTimeOffset start)
    {
        Assert.True(Holds(record.End, start + truth.End!.Value), $"the end of {record.Id}");
        foreach (var (t, step) in truth.Steps.Zip(Steps(record)))
        {
            Assert.True(Holds(step.Start, start + t.Start) && Holds(step.End, start + t.End!.Value), $"{record.Id}: {t} is not {step}");
        }
    }

    private static IEnumerable<string> Shape(CycleRecord record) =>
        record.Phases.SelectMany(p => p.Passes.SelectMany(x => x.Steps.Select(s => $"{p.Id} {x.Number} {s.Kind} {s.Seen}")))
            .Concat(record.Stations.Select(s => $"station {s.Station}: {s.KegTag}, {s.Drains.Count} drains"))
            .Append($"{record.Outcome} {record.Programme} {record.CycleCount} {record.Gaps.Count} gaps");

    private static IEnumerable<StepRecord> Steps(CycleRecord record) => record.Phases.SelectMany(p => p.Passes).SelectMany(p => p.Steps);

    /// <summary>Bridge and simulator each tie the monotonic clock to the wall clock for themselves, in hurried time: allow for the difference.</summary>
    private static bool Holds(Edge edge, DateTimeOffset at) =>
        edge.Wall.Earliest - TwoClocks <= Instant.Ceiling(at) && edge.Wall.Latest + TwoClocks >= Instant.Floor(at);

    private static WasherConfiguration Washer(SimulatedWasher washer, string id, ControllerConnection connection, Func<MappedRegister, TagSource> source, Func<MappedRegister, double> scale)
    {
        Signal Own(Signal signal) => signal with { Washer = id };
        return new WasherConfiguration
        {
            Model = washer.Model with { Washer = id, Signals = [.. washer.Model.Signals.Select(Own)] },
            Connection = connection,
            Groups =
            [
                new PollGroup(0, "sequence", TimeSpan.FromMilliseconds(200), TimeSpan.FromMinutes(1)),
                new PollGroup(1, "measurements", TimeSpan.FromMilliseconds(500), TimeSpan.FromMinutes(1)),
                new PollGroup(2, "settings", TimeSpan.FromSeconds(2), TimeSpan.FromMinutes(5)),
            ],
            Tags = [.. washer.Map.Select(m => new Tag { Signal = Own(m.Signal), Group = m.Group, Source = source(m), Scale = scale(m), DeadBand = m.DeadBand })],
            Recipe = new Recipe
            {
                Id = "r",
                Version = 1,
                Requirements =
                [
                    new ContactTime { Id = "contact", From = new EdgeName("sanitise", StepKind.WallSpray, EdgeSide.Start), To = new EdgeName("sanitise", StepKind.Hold, EdgeSide.End), AtLeast = TimeSpan.FromSeconds(38) },
                ],
            },
        };
    }
}
