using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using static WashBridge.Core.Tests.Verdicts.Asked;

namespace WashBridge.Core.Tests.Verdicts;

public sealed class ContactTimeTests
{
    [Theory]
    [InlineData(45, Verdict.NotProven)]
    [InlineData(45.999, Verdict.NotProven)]
    [InlineData(46, Verdict.Met)]
    [InlineData(44, Verdict.NotProven)]
    [InlineData(43.999, Verdict.NotMet)]
    public void A_hold_seen_to_within_one_second_at_each_edge_is_judged_by_its_bounds(double held, Verdict expected)
    {
        var result = new CycleScript().Sanitise(20, held).Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45));

        Assert.Equal(expected, result.Verdict);
        Assert.Equal(held - 1, result.Lower!.Value, 6);
        Assert.Equal(held + 1, result.Upper!.Value, 6);
        Assert.Equal(held, result.Estimate!.Value, 6);
        Assert.Equal(1 / Math.Sqrt(6), result.StandardUncertainty!.Value, 9);
        Assert.Equal(45, result.Limit);
        Assert.Equal("s", result.Unit);
    }

    [Fact]
    public void The_evidence_is_a_sentence_with_the_interval_and_the_limit()
    {
        var result = new CycleScript().Sanitise(20, 45).Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45));

        Assert.Equal("From the start of hold in sanitise to the end of hold in sanitise (pass 1) it was 44 to 46 s; at least 45 s is asked: not proven.", result.Evidence);
    }

    [Theory]
    [InlineData(58, Verdict.Met)]
    [InlineData(60, Verdict.NotProven)]
    [InlineData(62, Verdict.NotMet)]
    public void An_upper_limit_is_the_mirror_of_a_lower_one(double held, Verdict expected) =>
        Assert.Equal(expected, new CycleScript().Sanitise(20, held).Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atMost: 60)).Verdict);

    [Fact]
    public void Of_two_limits_the_one_that_fails_is_shown()
    {
        var result = new CycleScript().Sanitise(20, 70).Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45, atMost: 60));

        Assert.Equal((Verdict.NotMet, 60.0), (result.Verdict, result.Limit));
    }

    [Fact]
    public void One_pass_that_has_it_suffices_unless_every_pass_must()
    {
        var script = new CycleScript().Phase("wash", PhaseKind.CausticWash)
            .Pass(new(StepKind.WallSpray, 10), new(StepKind.Hold, 20))
            .Pass(new(StepKind.WallSpray, 10), new(StepKind.Hold, 40));
        var contact = Contact(StartOf("wash", StepKind.Hold), EndOf("wash", StepKind.Hold), atLeast: 30);

        Assert.Equal(Verdict.Met, script.Judged(contact).Verdict);
        var every = script.Judged(contact with { EveryPass = true });
        Assert.Equal(Verdict.NotMet, every.Verdict);
        Assert.Contains("pass 1", every.Evidence, StringComparison.Ordinal);
    }

    [Fact]
    public void Edges_of_different_passes_are_never_paired()
    {
        // From the first spray to the last hold it was 80 s, but no pass had more than 40 s.
        var script = new CycleScript().Phase("wash", PhaseKind.CausticWash)
            .Pass(new(StepKind.WallSpray, 10), new(StepKind.Hold, 30))
            .Pass(new(StepKind.WallSpray, 10), new(StepKind.Hold, 30));

        Assert.Equal(Verdict.NotMet, script.Judged(Contact(StartOf("wash", StepKind.WallSpray), EndOf("wash", StepKind.Hold), atLeast: 60)).Verdict);
        Assert.Equal(Verdict.Met, script.Judged(Contact(StartOf("wash"), EndOf("wash"), atLeast: 60)).Verdict);
    }

    [Fact]
    public void Across_two_phases_the_last_pass_before_and_the_first_pass_after_count()
    {
        var script = new CycleScript()
            .Phase("sanitise", PhaseKind.Sanitise).Pass(new(StepKind.WallSpray, 10), new(StepKind.Drain, 5)).Pass(new(StepKind.WallSpray, 10), new(StepKind.Drain, 5))
            .Phase("purge", PhaseKind.Purge).Pass(new(StepKind.Pressurise, 4), new(StepKind.Vent, 4)).Pass(new(StepKind.Pressurise, 4), new(StepKind.Vent, 4));

        var result = script.Judged(Contact(StartOf("sanitise", StepKind.WallSpray), StartOf("purge", StepKind.Pressurise), atLeast: 20));

        Assert.Equal((14.0, 16.0), (result.Lower, result.Upper));
        Assert.Equal(Verdict.NotMet, result.Verdict);
    }

    [Fact]
    public void A_gap_within_the_time_leaves_only_the_longest_watched_stretch_as_proof()
    {
        var script = new CycleScript().Sanitise(20, 60);
        script.Gaps.Add((40, 50));

        var result = script.Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45));

        Assert.Equal(79.5 - 50, result.Lower!.Value, 6);
        Assert.Equal(61, result.Upper!.Value, 6);
        Assert.Equal(Verdict.NotProven, result.Verdict);
    }

    [Fact]
    public void A_gap_elsewhere_takes_nothing_away()
    {
        var script = new CycleScript().Sanitise(20, 60);
        script.Gaps.Add((5, 12));

        Assert.Equal(Verdict.Met, script.Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45)).Verdict);
    }

    [Fact]
    public void An_edge_seen_as_a_pause_ends_can_have_come_before_the_pause()
    {
        // The hold was seen for 20 s; then a pause of 40 s hid the place, and after it the drain ran.
        var cycle = new CycleScript().Sanitise(20, 60).Build();
        var pause = new Pause(new Edge(CycleScript.At(39.5), CycleScript.At(40.5)), new Edge(CycleScript.At(79.5), CycleScript.At(80.5)), default);

        var result = Judge.Decide(cycle with { Pauses = [pause] }, [], Recipe(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45)), [])[0].Results[0];

        Assert.Equal((Verdict.NotProven, 39.5 - 20.5, 61.0), (result.Verdict, result.Lower, result.Upper));
    }

    [Fact]
    public void A_pause_within_the_time_runs_on()
    {
        var cycle = new CycleScript().Sanitise(20, 60).Build();
        var pause = new Pause(new Edge(CycleScript.At(39.5), CycleScript.At(40.5)), new Edge(CycleScript.At(59.5), CycleScript.At(60.5)), default);

        var result = Judge.Decide(cycle with { Pauses = [pause] }, [], Recipe(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45)), [])[0].Results[0];

        Assert.Equal((Verdict.Met, 59.0), (result.Verdict, result.Lower));
    }

    [Fact]
    public void A_step_that_nobody_saw_proves_nothing()
    {
        var script = new CycleScript().Phase("sanitise", PhaseKind.Sanitise).Pass(new(StepKind.WallSpray, 20), new(StepKind.Hold, 60, Seen: false), new(StepKind.Drain, 10));

        var result = script.Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45));

        Assert.Equal((Verdict.NotProven, 0.0), (result.Verdict, result.Lower));
        Assert.Contains("was not seen", result.Evidence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_phase_that_did_not_run_is_not_met_when_all_was_watched_and_not_proven_otherwise()
    {
        var contact = Contact(StartOf("acid", StepKind.WallSpray), EndOf("acid", StepKind.WallSpray), atLeast: 10);
        var watched = new CycleScript().Sanitise(20, 60);
        var blind = new CycleScript().Sanitise(20, 60);
        blind.Gaps.Add((5, 12));

        Assert.Equal(Verdict.NotMet, watched.Judged(contact).Verdict);
        Assert.Equal(Verdict.NotProven, blind.Judged(contact).Verdict);
        Assert.Equal(Verdict.NotProven, new CycleScript { StartUnseen = true }.Sanitise(20, 60).Judged(contact).Verdict);
    }

    [Fact]
    public void A_start_that_was_not_seen_leaves_the_upper_bound_open_but_counts_what_was_seen()
    {
        var script = new CycleScript { StartUnseen = true }.Sanitise(20, 60);
        var spray = Contact(StartOf("sanitise", StepKind.WallSpray), EndOf("sanitise", StepKind.WallSpray), atLeast: 30);

        var result = script.Judged(spray);

        Assert.Equal((19.0, null, Verdict.NotProven), (result.Lower, result.Upper, result.Verdict));
        Assert.Equal(Verdict.Met, script.Judged(spray with { AtLeast = TimeSpan.FromSeconds(19) }).Verdict);
    }

    [Theory]
    [InlineData(46, 0.05, Verdict.Met)]
    [InlineData(45.7, 0.05, Verdict.Met)]
    [InlineData(45.6, 0.05, Verdict.NotProven)]
    [InlineData(45.7, 0.025, Verdict.NotProven)]
    [InlineData(44.4, 0.05, Verdict.NotProven)]
    [InlineData(44.3, 0.05, Verdict.NotMet)]
    public void The_guard_band_accepts_a_stated_risk(double held, double risk, Verdict expected)
    {
        // Guard band 0.6838 s at 5 % and 0.7764 s at 2.5 % for edges one second wide: T(1 - sqrt(2 alpha)), from the triangular distribution.
        var rule = new DecisionRule(DecisionMethod.GuardBand, risk);

        var result = new CycleScript().Sanitise(20, held).Judged(Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45), rule);

        Assert.Equal(expected, result.Verdict);
    }
}
