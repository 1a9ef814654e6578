using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Simulator;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Tests.Subscribing;

/// <summary>
/// Random simulated washers read by subscription: the truth lies within the bounds, whatever the server's timestamps are.
/// WASHBRIDGE_LONG multiplies the number of runs.
/// </summary>
public sealed class SubscribedTruthTests
{
    private static readonly int Times = int.TryParse(Environment.GetEnvironmentVariable("WASHBRIDGE_LONG"), out var times) ? times : 1;
    private static readonly TimeSpan Length = TimeSpan.FromMinutes(15);
    private int _whole;
    private int _steps;
    private int _drains;

    [Theory]
    [InlineData(SourceTimes.OfSample)]
    [InlineData(SourceTimes.OfChange)]
    [InlineData(SourceTimes.Missing)]
    [InlineData(SourceTimes.Skewed)]
    internal void No_true_edge_lies_outside_its_bounds(SourceTimes source)
    {
        Gen.Int[0, int.MaxValue - 1].Sample(seed => Check(seed, source), iter: 20 * Times, threads: 1);
        Assert.True(_whole > 15 && _steps > 300 && _drains > 60, $"{_whole} whole cycles, {_steps} steps, {_drains} drains");
    }

    private void Check(int seed, SourceTimes source)
    {
        var random = new Random(seed);
        var programmes = new[] { InventedProgrammes.Full, InventedProgrammes.Plain, InventedProgrammes.Repeated };
        var washer = new SimulatedWasher(new WasherOptions
        {
            Id = "w1",
            Seed = seed,
            Stations = random.Next(1, 4),
            Programmes = [programmes[random.Next(3)] with { Number = 1 }],
            Instrumentation = Instrumentation.Poor,
            SharedDrainSensor = random.Next(3) == 0,
            KegIds = true,
        });
        var configuration = Subscribed.Washer(washer, TimeSpan.FromMilliseconds(random.Next(30, 400)));
        var server = new VirtualSubscription(washer, configuration, seed, source);
        var segmenter = new Segmenter(configuration.Model);
        var records = server.Run(Length, cutsPerMinute: random.Next(2) == 0 ? 0 : 0.3)
            .SelectMany(segmenter.Accept).OfType<CycleEnded>().Select(e => e.Cycle).ToList();
        foreach (var record in records)
        {
            Assert.True(record.Gaps.Count > 0 || record.Outcome == CycleOutcome.Completed, $"{record.Id}: {record.Outcome}");
            if (record is { StartUnseen: false, Outcome: CycleOutcome.Completed, Gaps.Count: 0 })
            {
                _whole++;
                Whole(server, record, Assert.Single(washer.FinishedCycles, t => Holds(server, record.Start, t.Start)));
            }
        }
    }

    private void Whole(VirtualSubscription server, CycleRecord record, TrueCycle truth)
    {
        Assert.True(Holds(server, record.End, truth.End!.Value), "the end is elsewhere");
        var steps = record.Phases.SelectMany(p => p.Passes.SelectMany(x => x.Steps.Select(s => (Phase: p.Id, Pass: x.Number, Step: s)))).ToList();
        Assert.Equal(truth.Steps.Select(t => (t.Phase, t.Pass, t.Kind)), steps.Select(s => (s.Phase, s.Pass, s.Step.Kind)));
        foreach (var (t, (_, _, step)) in truth.Steps.Zip(steps))
        {
            Assert.True(Holds(server, step.Start, t.Start) && Holds(server, step.End, t.End!.Value) && step.Held.Contains(t.Held!.Value), $"{t} is not {step}");
            _steps++;
        }

        foreach (var (station, drain) in record.Stations.SelectMany(s => s.Drains.Select(d => (s.Station, d))))
        {
            if (truth.Drains.FirstOrDefault(t => t.Station == station && t.Phase == drain.Phase && Holds(server, drain.Start, t.Start)) is not { Dry: { } dry } true_)
            {
                continue;
            }

            Assert.True(drain.Time.Lower <= dry - true_.Start && (drain.Dry is null || drain.Time.Upper >= (true_.FirstDry ?? dry) - true_.Start), $"{drain} is not {true_}");
            _drains++;
        }
    }

    private static bool Holds(VirtualSubscription server, Edge edge, TimeSpan time) =>
        edge.Wall.Earliest <= Instant.Ceiling(server.Wall(time)) && edge.Wall.Latest >= Instant.Floor(server.Wall(time));
}
