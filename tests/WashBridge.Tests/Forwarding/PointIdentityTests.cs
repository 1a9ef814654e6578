using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

/// <summary>InfluxDB merges points of the same measurement, tags and time: distinct events must not meet there, and the same event always must.</summary>
public sealed class PointIdentityTests
{
    private static readonly Instant Gap = Instant.Parse("2031-03-05T12:00:00Z");

    /// <summary>
    /// The worst case: one gap hides steps, drains and a pause of a whole cycle, so that all of them have the same bounds. What is left
    /// to tell them apart is the place in the programme, the station, and the number of the repeat.
    /// </summary>
    [Fact]
    public void Events_of_a_cycle_that_share_their_bounds_are_distinct_points() =>
        Gen.Select(Gen.String[Gen.Char['a', 'z'], 1, 12], Gen.Int[0, 999], Gen.Long[0, 2_000_000_000_000_000]).Sample((washer, millisecond, microseconds) =>
        {
            var cycle = $"{washer}-20310305T115500.{millisecond:D3}";
            var points = Hidden(washer, cycle, TimeBounds.At(new Instant(microseconds))).SelectMany(Points).ToList();
            Assert.Equal(points.Count, points.Distinct().Count());
        });

    [Fact]
    public void Everything_a_washer_sends_in_a_week_is_a_point_of_its_own()
    {
        for (var seed = 0; seed < 20; seed++)
        {
            var events = new WashDay(seed, stations: 8).Events(4000).Concat(new WashDay(seed, "w2").Events(4000)).ToList();
            var points = events.SelectMany(Points).ToList();
            Assert.True(points.Count > events.Count);
            Assert.Equal(points.Count, points.Distinct().Count());
        }
    }

    [Fact]
    public void The_last_change_of_an_alarm_at_an_instant_is_the_last_in_time()
    {
        var change = WashFindings.Of("c1", "w1", () => TimeBounds.At(Gap)).OfType<AlarmChanged>().First();
        var times = Enumerable.Range(0, 4).Select(turn => Lines(change with { Id = $"{1000 - turn}", Turn = turn == 0 ? null : turn }).Single().Split(' ')[^1]).ToList();
        Assert.Equal(["1930478400000000000", "1930478400000000001", "1930478400000000002", "1930478400000000003"], times);
    }

    [Fact]
    public void Samples_of_a_frame_and_of_the_next_are_points_of_their_own()
    {
        var batch = new LineBatch();
        var render = new SamplePoints("north");
        foreach (var frame in new WashDay(5).Frames(count: 500, samplesEach: 60))
        {
            render.Append(1, frame, batch);
        }

        var points = Enumerable.Range(0, batch.Count).Select(i => Identity(batch.Text(i, 1))).ToList();
        Assert.Equal(30_000, points.Distinct().Count());
    }

    /// <summary>Rendering knows no state: another process, another order, another historian give the same line.</summary>
    [Fact]
    public void The_same_event_is_the_same_line_whenever_it_is_rendered()
    {
        var events = new WashDay(7).Events(500);
        var forwards = events.SelectMany(Lines).ToList();
        var backwards = new WashDay(7).Events(500).Reverse().Select(Lines).Reverse().SelectMany(l => l).ToList();
        Assert.Equal(forwards, backwards);
    }

    private static IEnumerable<WashEvent> Hidden(string washer, string cycle, TimeBounds at)
    {
        var edge = new Edge(new Moment(at.Earliest, at.Earliest, 0), new Moment(at.Latest, at.Latest, 0));
        var held = new DurationBounds(TimeSpan.Zero, TimeSpan.FromSeconds(9));
        foreach (var phase in (string[])["rinse", "purge"])
        {
            for (var pass = 1; pass <= 3; pass++)
            {
                foreach (var step in Enum.GetValues<StepKind>())
                {
                    for (var repeat = 1; repeat <= 9; repeat++)
                    {
                        var place = $"{cycle}/{phase}/{pass}/{step}{(repeat == 1 ? "" : $"-{repeat}")}";
                        var record = new StepRecord { Kind = step, Start = edge, End = edge, Held = held, Seen = false };
                        yield return new StepStarted { Id = place + "/started", Washer = washer, CycleId = cycle, At = at, Phase = phase, PhaseKind = PhaseKind.Purge, Pass = pass, Step = step, Edge = edge };
                        yield return new StepEnded { Id = place + "/ended", Washer = washer, CycleId = cycle, At = at, Phase = phase, PhaseKind = PhaseKind.Purge, Pass = pass, Step = record };
                    }
                }

                for (var station = 1; station <= 8; station++)
                {
                    yield return new DrainMeasured { Id = $"{cycle}/{phase}/{pass}/drain/station-{station}", Washer = washer, CycleId = cycle, At = at, Station = station, Drain = new DrainRecord(phase, pass, edge, edge, held, false) };
                }
            }
        }

        for (var pause = 1; pause <= 9; pause++)
        {
            yield return new CyclePaused { Id = $"{cycle}/pause-{pause}/started", Washer = washer, CycleId = cycle, At = at, Edge = edge };
            yield return new CycleResumed { Id = $"{cycle}/pause-{pause}/ended", Washer = washer, CycleId = cycle, At = at, Pause = new Pause(edge, edge, held) };
        }
    }

    private static IEnumerable<string> Points(WashEvent washEvent) => Lines(washEvent).Select(Identity);

    private static List<string> Lines(WashEvent washEvent)
    {
        var batch = new LineBatch();
        new EventPoints("north").Append(1, washEvent, batch);
        Assert.Empty(batch.Inexpressible);
        return [.. Enumerable.Range(0, batch.Count).Select(i => batch.Text(i, 1))];
    }

    /// <summary>Measurement and tags (which hold no space here), and the time.</summary>
    private static string Identity(string line) => line[..line.IndexOf(' ', StringComparison.Ordinal)] + line[line.LastIndexOf(' ')..];
}
