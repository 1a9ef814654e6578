using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using static WashBridge.Core.Tests.Verdicts.Asked;
using static WashBridge.Core.Tests.Verdicts.CycleScript;

namespace WashBridge.Core.Tests.Verdicts;

public sealed class JudgeTests
{
    private static readonly ContactTime Dwell = Contact(StartOf("sanitise", StepKind.Hold), EndOf("sanitise", StepKind.Hold), atLeast: 45);

    private static KegScanned Scan(int station, string keg, double at) =>
        new() { Id = $"scan-{keg}", Washer = "w1", Station = station, KegId = keg, At = TimeBounds.At(Wall(at)) };

    [Fact]
    public void A_station_without_a_keg_gets_no_verdict()
    {
        var script = new CycleScript().Sanitise(20, 60);
        script.Stations.Add(new() { Station = 2, KegPresent = false, Drains = [] });
        script.Stations.Add(new() { Station = 3, KegPresent = null, Drains = [] });

        Assert.Equal([1, 3], Judge.Decide(script.Build(), [], Recipe(Dwell), []).Select(v => v.Station));
    }

    [Fact]
    public void The_keg_id_is_the_tag_else_the_latest_scan_before_the_end_else_made()
    {
        var script = new CycleScript().Sanitise(20, 60);
        script.Stations.Clear();
        script.Stations.AddRange([
            new() { Station = 1, KegPresent = true, KegTag = " K-17 ", Drains = [] },
            new() { Station = 2, KegPresent = true, KegTag = " ", Drains = [] },
            new() { Station = 3, KegPresent = true, Drains = [] },
        ]);

        var verdicts = Judge.Decide(script.Build(), [], Recipe(Dwell), [Scan(1, "K-1", -4), Scan(2, "K-2", -9), Scan(2, "K-3", -3), Scan(2, "K-4", 95)]);

        Assert.Equal(
            [("K-17", KegIdSource.Tag), ("K-3", KegIdSource.Scan), ("w1-20310305T080000.000-s3", KegIdSource.Made)],
            verdicts.Select(v => (v.KegId, v.KegIdSource)));
    }

    [Fact]
    public void The_verdict_names_recipe_version_and_rule()
    {
        var recipe = Recipe(Dwell) with { Rule = new DecisionRule(DecisionMethod.GuardBand, 0.05) };

        var verdict = Judge.Decide(new CycleScript().Sanitise(20, 60).Build(), [], recipe, [])[0];

        Assert.Equal(("standard", 3, recipe.Rule, Verdict.Met), (verdict.Recipe, verdict.RecipeVersion, verdict.Rule, verdict.Verdict));
    }

    [Theory]
    [InlineData(CycleOutcome.Aborted, false, Verdict.NotMet)]
    [InlineData(CycleOutcome.EndUnseen, false, Verdict.NotProven)]
    [InlineData(CycleOutcome.Completed, true, Verdict.NotProven)]
    [InlineData(CycleOutcome.Completed, false, Verdict.Met)]
    public void A_programme_that_was_not_seen_to_run_from_start_to_end_is_never_met(CycleOutcome outcome, bool startUnseen, Verdict expected)
    {
        var script = new CycleScript { Outcome = outcome, StartUnseen = startUnseen }.Sanitise(20, 60);

        var verdict = Judge.Decide(script.Build(), [], Recipe(Dwell), [])[0];

        Assert.Equal(Verdict.Met, verdict.Results[0].Verdict);
        Assert.Equal(expected, verdict.Verdict);
        Assert.Equal(expected != Verdict.Met, verdict.Results.Any(r => r.Requirement == Judge.ProgrammeComplete));
    }

    [Fact]
    public void A_record_that_begins_in_mid_programme_may_be_the_rest_of_an_older_cycle()
    {
        // The controller showed idle for a moment and went on in the hold.
        var script = new CycleScript().Phase("sanitise", PhaseKind.Sanitise).Pass(new(StepKind.WallSpray, 0, Seen: false), new(StepKind.Hold, 30), new Step(StepKind.Drain, 10));
        var hold = new StepTime { Id = "hold", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(35) };
        var brief = hold with { AtLeast = null, AtMost = TimeSpan.FromSeconds(35) };

        var verdict = Judge.Decide(script.Build(), [], Recipe(hold, brief, hold with { AtLeast = TimeSpan.FromSeconds(29) }), [])[0];

        Assert.Equal([Verdict.NotProven, Verdict.NotProven, Verdict.NotProven, Verdict.NotProven], verdict.Results.Select(r => r.Verdict));
        Assert.Equal((29.0, null), (verdict.Results[0].Lower, verdict.Results[0].Upper));
        Assert.Equal(Judge.ProgrammeComplete, verdict.Results[^1].Requirement);
    }

    [Fact]
    public void Not_met_outweighs_not_proven_which_outweighs_met()
    {
        Assert.Equal(Verdict.NotMet, Decision.Worst([Verdict.Met, Verdict.NotProven, Verdict.NotMet]));
        Assert.Equal(Verdict.NotProven, Decision.Worst([Verdict.Met, Verdict.NotProven]));
        Assert.Equal(Verdict.Met, Decision.Worst([Verdict.Met]));
        Assert.Equal(Verdict.NotProven, Decision.Worst([]));
    }
}
