using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using static WashBridge.Core.Tests.Verdicts.CycleScript;

namespace WashBridge.Core.Tests.Verdicts;

public sealed class DrainTests
{
    private static readonly DrainLimit Limit = new() { Id = "drain", AtMost = TimeSpan.FromSeconds(8) };

    private static DrainRecord Drain(string phase, double start, double? dry, bool shared = false)
    {
        Edge At(double t) => new(CycleScript.At(t - 0.5), CycleScript.At(t + 0.5));
        var (from, to) = (At(start), dry is { } d ? At(d) : (Edge?)null);
        var time = to is { } end ? from.Until(end) : new DurationBounds(TimeSpan.FromSeconds(9), TimeSpan.MaxValue);
        return new DrainRecord(phase, 1, from, to, time, shared);
    }

    private static CycleScript Cycle(params DrainRecord[] drains)
    {
        var script = new CycleScript()
            .Phase("rinse", PhaseKind.Rinse).Pass(new(StepKind.WallSpray, 20), new Step(StepKind.Drain, 10))
            .Phase("wash", PhaseKind.CausticWash).Pass(new(StepKind.WallSpray, 20), new Step(StepKind.Drain, 10));
        script.Stations[0] = script.Stations[0] with { Drains = drains };
        return script;
    }

    [Theory]
    [InlineData(5, 5, Verdict.Met)]
    [InlineData(5, 7.5, Verdict.NotProven)]
    [InlineData(9.5, 5, Verdict.NotMet)]
    public void The_slowest_drain_decides(double first, double second, Verdict expected)
    {
        var result = Cycle(Drain("rinse", 20, 20 + first), Drain("wash", 50, 50 + second)).Judged(Limit);

        Assert.Equal(expected, result.Verdict);
        Assert.Equal(Math.Max(first, second) + 1, result.Upper!.Value, 6);
    }

    [Fact]
    public void Only_the_phases_asked_for_count() =>
        Assert.Equal(Verdict.Met, Cycle(Drain("rinse", 20, 35), Drain("wash", 50, 55)).Judged(Limit with { Phases = ["wash"] }).Verdict);

    [Fact]
    public void A_drain_that_never_read_dry_has_no_upper_bound()
    {
        var result = Cycle(Drain("rinse", 20, 25), Drain("wash", 50, null)).Judged(Limit);

        Assert.Equal((Verdict.NotMet, 9.0, null), (result.Verdict, result.Lower, result.Upper));
        Assert.Equal(Verdict.NotProven, Cycle(Drain("rinse", 20, 25), Drain("wash", 50, null)).Judged(Limit with { AtMost = TimeSpan.FromSeconds(9) }).Verdict);
    }

    [Fact]
    public void A_drain_that_was_not_measured_is_not_proven()
    {
        Assert.Equal(Verdict.NotProven, Cycle(Drain("rinse", 20, 25)).Judged(Limit).Verdict);
        var none = Cycle().Judged(Limit);
        Assert.Equal(Verdict.NotProven, none.Verdict);
        Assert.Contains("drain.dry", none.Evidence, StringComparison.Ordinal);
        Assert.Equal((8.0, "s"), (none.Limit, none.Unit));
    }

    [Fact]
    public void A_shared_sensor_proves_that_all_were_dry_but_not_who_was_slow()
    {
        var good = Cycle(Drain("rinse", 20, 25, shared: true), Drain("wash", 50, 55, shared: true));
        var slow = Cycle(Drain("rinse", 20, 25, shared: true), Drain("wash", 50, 60, shared: true));
        foreach (var script in new[] { good, slow })
        {
            script.Stations.Add(script.Stations[0] with { Station = 2 });
        }

        Assert.Equal(Verdict.Met, good.Judged(Limit).Verdict);
        Assert.Equal((Verdict.NotProven, 0.0), (slow.Judged(Limit).Verdict, slow.Judged(Limit).Lower));

        slow.Stations[1] = slow.Stations[1] with { KegPresent = false };
        Assert.Equal(Verdict.NotMet, slow.Judged(Limit).Verdict);
    }

    [Fact]
    public void Drains_that_a_gap_can_hide_are_not_proven()
    {
        var script = Cycle(Drain("rinse", 20, 25), Drain("wash", 50, 55));
        script.Gaps.Add((5, 9));

        Assert.Equal(Verdict.NotProven, script.Judged(Limit).Verdict);
        Assert.Equal(Verdict.Met, script.Judged(Limit with { Phases = ["wash"] }).Verdict);
    }

    [Fact]
    public void What_the_sensor_read_in_a_gap_is_not_of_this_drain()
    {
        // The sensor was wet, or dry, while nobody knew which step ran.
        var wet = Cycle(Drain("rinse", 20, null), Drain("wash", 50, 55));
        var dry = Cycle(Drain("rinse", 20, 27), Drain("wash", 50, 55));
        foreach (var script in new[] { wet, dry })
        {
            script.Gaps.Add((23, 26));
            var result = script.Judged(Limit);
            Assert.Equal((Verdict.NotProven, 0.0, null), (result.Verdict, result.Lower, result.Upper));
        }
    }

    [Fact]
    public void A_stopped_programme_did_not_have_all_its_drains()
    {
        var script = new CycleScript { Outcome = CycleOutcome.Aborted }.Phase("rinse", PhaseKind.Rinse).Pass(new(StepKind.WallSpray, 20), new Step(StepKind.Drain, 10));
        script.Stations[0] = script.Stations[0] with { Drains = [Drain("rinse", 20, 25)] };

        Assert.Equal(Verdict.NotProven, script.Judged(Limit).Verdict);
    }
}
