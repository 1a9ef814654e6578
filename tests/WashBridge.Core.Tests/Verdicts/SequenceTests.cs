using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;
using static WashBridge.Core.Tests.Verdicts.Asked;
using static WashBridge.Core.Tests.Verdicts.CycleScript;

namespace WashBridge.Core.Tests.Verdicts;

public sealed class SequenceTests
{
    private static readonly Step Spray = new(StepKind.WallSpray, 20);
    private static readonly Step Drain = new(StepKind.Drain, 10);
    private static readonly Step Pressurise = new(StepKind.Pressurise, 5);
    private static readonly Step Vent = new(StepKind.Vent, 5);

    private static StepTime Hold(double? atLeast, bool total = false, double? atMost = null) =>
        new() { Id = "hold", Phase = "wash", Step = StepKind.Hold, AtLeast = Seconds(atLeast), AtMost = Seconds(atMost), Total = total };

    private static CycleScript TwoHolds(double first, double second) => new CycleScript().Phase("wash", PhaseKind.CausticWash)
        .Pass(Spray, new(StepKind.Hold, first)).Pass(Spray, new(StepKind.Hold, second));

    [Fact]
    public void Every_pass_must_hold_its_step_unless_the_sum_is_asked()
    {
        Assert.Equal(Verdict.NotMet, TwoHolds(20, 40).Judged(Hold(30)).Verdict);
        Assert.Equal(Verdict.Met, TwoHolds(32, 40).Judged(Hold(30)).Verdict);
        Assert.Equal(Verdict.NotProven, TwoHolds(30, 40).Judged(Hold(30)).Verdict);

        var total = TwoHolds(20, 40).Judged(Hold(58, total: true));
        Assert.Equal((Verdict.Met, 58.0, 62.0), (total.Verdict, total.Lower, total.Upper));
        Assert.Equal(Math.Sqrt(4.0 / 12), total.StandardUncertainty!.Value, 9);
    }

    [Fact]
    public void The_watched_time_of_a_step_counts_and_not_the_time_between_its_edges()
    {
        // A step that was watched only for 20 s in one stretch, as the record says, though its edges lie 60 s apart.
        var cycle = TwoHolds(60, 60).Build();
        var pass = cycle.Phases[0].Passes[0];
        var shortened = pass with { Steps = [pass.Steps[0], pass.Steps[1] with { Held = new(TimeSpan.FromSeconds(20), TimeSpan.FromSeconds(61)) }] };
        cycle = cycle with { Phases = [cycle.Phases[0] with { Passes = [shortened, cycle.Phases[0].Passes[1]] }] };

        var result = Judge.Decide(cycle, Heartbeats(-5, 200), Recipe(Hold(30)), [])[0].Results[0];

        Assert.Equal((Verdict.NotProven, 20.0), (result.Verdict, result.Lower));
    }

    [Theory]
    [InlineData(2, Verdict.Met)]
    [InlineData(3, Verdict.NotMet)]
    public void Passes_are_counted(int asked, Verdict expected) =>
        Assert.Equal(expected, TwoHolds(30, 30).Judged(new PassCount { Id = "passes", Phase = "wash", AtLeast = asked }).Verdict);

    [Fact]
    public void A_pass_with_an_unseen_or_cut_step_only_can_have_been_one()
    {
        var script = new CycleScript().Phase("wash", PhaseKind.CausticWash)
            .Pass(Spray, Drain).Pass(Spray with { Seen = false }, Drain).Pass(Spray, Drain with { Interrupted = true });

        var result = script.Judged(new PassCount { Id = "passes", Phase = "wash", AtLeast = 2 });

        Assert.Equal((Verdict.NotProven, 1.0, 3.0), (result.Verdict, result.Lower, result.Upper));
        Assert.Equal(Verdict.NotMet, script.Judged(new PassCount { Id = "passes", Phase = "wash", AtLeast = 4 }).Verdict);
    }

    [Fact]
    public void A_gap_in_the_phase_leaves_the_count_open_above()
    {
        var script = TwoHolds(30, 30);
        script.Gaps.Add((25, 29));

        Assert.Equal(Verdict.NotProven, script.Judged(new PassCount { Id = "passes", Phase = "wash", AtLeast = 3 }).Verdict);
        Assert.Equal(Verdict.Met, script.Judged(new PassCount { Id = "passes", Phase = "wash", AtLeast = 1 }).Verdict);
    }

    [Fact]
    public void A_pass_that_ends_in_a_gap_may_have_been_cut_short_there()
    {
        var script = TwoHolds(30, 30);
        script.Gaps.Add((99, 104));

        var result = script.Judged(new PassCount { Id = "passes", Phase = "wash", AtLeast = 2 });

        Assert.Equal((Verdict.NotProven, 1.0), (result.Verdict, result.Lower));
    }

    [Fact]
    public void A_swing_is_a_pressurise_step_with_the_vent_after_it()
    {
        var script = new CycleScript().Phase("purge", PhaseKind.Purge).Pass(Pressurise, Vent).Pass(Pressurise, Vent, Pressurise);

        Assert.Equal(Verdict.Met, script.Judged(new SwingCount { Id = "swings", Phase = "purge", AtLeast = 2 }).Verdict);
        Assert.Equal(Verdict.NotMet, script.Judged(new SwingCount { Id = "swings", Phase = "purge", AtLeast = 3 }).Verdict);
    }

    private static CycleScript Phases(params string[] ids)
    {
        var script = new CycleScript();
        foreach (var id in ids)
        {
            script.Phase(id, PhaseKind.Rinse).Pass(Spray, Drain);
        }

        return script;
    }

    [Theory]
    [InlineData("rinse caustic sanitise", Verdict.Met)]
    [InlineData("rinse caustic acid sanitise purge", Verdict.Met)]
    [InlineData("rinse sanitise", Verdict.NotMet)]
    [InlineData("caustic rinse sanitise", Verdict.NotMet)]
    [InlineData("rinse caustic sanitise caustic", Verdict.NotMet)]
    [InlineData("rinse caustic rinse caustic sanitise", Verdict.Met)]
    public void Phases_must_have_run_in_the_order_asked(string ran, Verdict expected) =>
        Assert.Equal(expected, Phases(ran.Split(' ')).Judged(new PhaseOrder { Id = "order", Phases = ["rinse", "caustic", "sanitise"] }).Verdict);

    [Fact]
    public void A_missing_phase_that_a_gap_can_hide_is_not_proven()
    {
        var script = Phases("rinse", "sanitise");
        script.Gaps.Add((25, 70));

        var result = script.Judged(new PhaseOrder { Id = "order", Phases = ["rinse", "caustic", "sanitise"] });

        Assert.Equal(Verdict.NotProven, result.Verdict);
        Assert.Contains("caustic", result.Evidence, StringComparison.Ordinal);
    }
}
