using CsCheck;
using WashBridge.Analysis.Setpoints;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Tests.Setpoints;

public sealed class SetpointWatchTests
{
    private static readonly Instant Eight = Instant.Parse("2031-03-05T08:00:00Z");

    private static readonly ApprovedRecipes Recipes = new(
        Recipe("full", 1, ("sanitise.hold", 35, 0), ("caustic-wash.wall-spray", 12, 0.5)),
        new Dictionary<int, Recipe> { [2] = Recipe("short", 4, ("sanitise.hold", 21, 0)) });

    [Fact]
    public void A_change_away_from_the_recipe_is_told_with_the_bounds_of_the_change_and_so_is_the_return()
    {
        var found = Watch([Cycle(0, 1, 35), Changed(200, 35, 20), Cycle(300, 1, 20), Changed(600, 20, 35)]);
        Assert.Equal(2, found.Count);
        var deviated = Assert.IsType<SetpointDeviated>(found[0]);
        Assert.Equal(At(200), deviated.At);
        Assert.Equal(new Core.Drift.SetpointFinding("sanitise.hold", "s", 35, 20, "full", 1), deviated.Finding);
        var conformed = Assert.IsType<SetpointConformed>(found[1]);
        Assert.Equal((At(600), "sanitise.hold"), (conformed.At, conformed.Setpoint));
    }

    [Fact]
    public void Each_wrong_value_is_told_once() => Assert.Equal(
        [20.0, 19.0],
        Watch([Cycle(0, 1, 35), Changed(200, 35, 20), Cycle(300, 1, 20), Cycle(500, 1, 20), Changed(700, 20, 19), Cycle(800, 1, 19)]).Cast<SetpointDeviated>().Select(d => d.Finding.Set));

    [Fact]
    public void A_deviation_that_was_there_before_is_told_with_the_first_cycle()
    {
        var deviated = Assert.IsType<SetpointDeviated>(Assert.Single(Watch([Cycle(0, 1, 30), Cycle(300, 1, 30)])));
        Assert.Equal((At(0), "w1-0"), (deviated.At, deviated.CycleId));
    }

    /// <summary>The settings are held against the version in force when a cycle began, or when they were changed.</summary>
    [Fact]
    public void A_version_that_comes_into_force_is_what_settings_are_held_against_from_then_on()
    {
        var second = Recipe("full", 2, ("sanitise.hold", 40, 0), ("caustic-wash.wall-spray", 12, 0.5));
        IReadOnlyList<WashEvent> approved = [Acted(10, RecipeStep.Drafted, "A") with { Recipe = second }, Acted(11, RecipeStep.Submitted, "A"), Acted(12, RecipeStep.Approved, "B") with { From = Eight + TimeSpan.FromSeconds(400), Approvals = 1 }];
        var found = Watch([Cycle(0, 1, 35), .. approved, Cycle(300, 1, 35), Cycle(500, 1, 35), Changed(700, 35, 40)]);
        var deviated = Assert.IsType<SetpointDeviated>(found[0]);
        Assert.Equal((At(500), 40.0, 35.0, 2), (deviated.At, deviated.Finding.Approved, deviated.Finding.Set, deviated.Finding.RecipeVersion));
        Assert.IsType<SetpointConformed>(found[1]);
        Assert.Equal(2, found.Count);

        // Also after it was stopped and started in between.
        var first = new SetpointWatch(Recipes);
        foreach (var each in approved)
        {
            Assert.Empty(first.Accept(each));
        }

        var restored = new SetpointWatch(Recipes);
        restored.Restore(first.Snapshot());
        Assert.Equal(2, Assert.IsType<SetpointDeviated>(Assert.Single(restored.Accept(Cycle(500, 1, 35)))).Finding.RecipeVersion);
    }

    [Fact]
    public void What_is_done_to_recipes_of_other_washers_is_not_remembered()
    {
        var watch = new SetpointWatch(Recipes);
        var before = watch.Snapshot();
        Assert.Empty(watch.Accept(Acted(10, RecipeStep.Submitted, "A") with { RecipeId = "other" }));
        Assert.Equal(before, watch.Snapshot());
    }

    [Fact]
    public void A_value_within_the_tolerance_is_as_approved()
    {
        Assert.Empty(Watch([Cycle(0, 1, 35), Changed(200, 12, 12.5, "caustic-wash.wall-spray")]));
        Assert.Single(Watch([Cycle(0, 1, 35), Changed(200, 12, 12.6, "caustic-wash.wall-spray")]));
    }

    [Fact]
    public void A_setpoint_that_the_recipe_does_not_name_is_free() => Assert.Empty(Watch([Cycle(0, 1, 35), Changed(200, 3, 1, "purge.vent")]));

    /// <summary>The controller loads the settings of the programme selected, before any cycle of it tells which one that is.</summary>
    [Fact]
    public void Another_programmes_settings_are_no_deviation()
    {
        Assert.Empty(Watch([Cycle(0, 1, 35), Changed(200, 35, 21), Cycle(300, 2, 21), Changed(500, 21, 35), Cycle(600, 1, 35)]));

        // Selected while a cycle of the programme before still ran.
        Assert.Empty(Watch([Changed(100, 35, 21), Cycle(0, 1, 35), Cycle(300, 2, 21)]));
    }

    [Fact]
    public void Another_programmes_setting_is_a_deviation_once_a_cycle_ran_with_it_since_its_change()
    {
        var deviated = Assert.IsType<SetpointDeviated>(Assert.Single(Watch([Cycle(0, 1, 35), Changed(200, 35, 21), Cycle(300, 1, 21)])));
        Assert.Equal(At(200), deviated.At);
    }

    [Fact]
    public void A_change_that_nobody_saw_is_told_with_the_start_of_the_next_cycle()
    {
        var deviated = Assert.IsType<SetpointDeviated>(Assert.Single(Watch([Cycle(0, 1, 35), Cycle(300, 1, 20)])));
        Assert.Equal(At(300), deviated.At);
    }

    [Fact]
    public void A_new_version_of_the_recipe_is_held_against_what_is_set()
    {
        var before = new SetpointWatch(Recipes);
        Assert.Empty(before.Accept(Cycle(0, 1, 35)));
        var after = new SetpointWatch(new ApprovedRecipes(Recipe("full", 2, ("sanitise.hold", 40, 0)), new Dictionary<int, Recipe>()));
        after.Restore(before.Snapshot());
        var deviated = Assert.IsType<SetpointDeviated>(Assert.Single(after.Accept(Cycle(300, 1, 35))));
        Assert.Equal((40.0, 2), (deviated.Finding.Approved, deviated.Finding.RecipeVersion));

        // A recipe that leaves the setting free takes the deviation back.
        var free = new SetpointWatch(new ApprovedRecipes(Recipe("full", 3), new Dictionary<int, Recipe>()));
        free.Restore(after.Snapshot());
        Assert.IsType<SetpointConformed>(Assert.Single(free.Accept(Cycle(600, 1, 35))));
    }

    [Fact]
    public void Cut_anywhere_it_goes_on_as_if_it_had_never_stopped_and_its_ids_are_unique() =>
        Gen.Select(Gen.Int[0, 3], Gen.Int[0, 2], Gen.Int[0, 1]).List[0, 30].Sample(steps =>
        {
            var events = steps.Select((s, i) => s.Item1 == 0 ? (WashEvent)Cycle(i * 300, s.Item3 + 1, new[] { 35.0, 21, 20 }[s.Item2]) : Changed((i * 300) + 250, 0, new[] { 35.0, 21, 20 }[s.Item2])).ToList();
            var whole = Watch(events).ConvertAll(WashJson.Write);
            Assert.Equal(whole.Count, Watch(events).Select(e => e.Id).Distinct().Count());
            for (var cut = 0; cut <= events.Count; cut++)
            {
                var first = new SetpointWatch(Recipes);
                var parts = events[..cut].SelectMany(first.Accept).ToList();
                var second = new SetpointWatch(Recipes);
                second.Restore(first.Snapshot());
                parts.AddRange(events[cut..].SelectMany(second.Accept));
                Assert.Equal(whole, parts.ConvertAll(WashJson.Write));
                Assert.Equal(EndOf(events), second.Snapshot());
            }
        });

    private static string EndOf(List<WashEvent> events)
    {
        var watch = new SetpointWatch(Recipes);
        events.ForEach(e => watch.Accept(e));
        return watch.Snapshot();
    }

    private static List<WashEvent> Watch(List<WashEvent> events)
    {
        var watch = new SetpointWatch(Recipes);
        return [.. events.SelectMany(watch.Accept)];
    }

    private static Recipe Recipe(string id, int version, params (string Name, double Value, double Tolerance)[] setpoints) => new()
    {
        Id = id, Version = version, Requirements = [], Setpoints = setpoints.ToDictionary(s => s.Name, s => new ApprovedSetpoint(s.Value, "s", s.Tolerance)),
    };

    private static TimeBounds At(double seconds) => new(Eight + TimeSpan.FromSeconds(seconds), Eight + TimeSpan.FromSeconds(seconds + 1));

    private static SetpointChanged Changed(double at, double from, double to, string name = "sanitise.hold") => new()
    {
        Id = $"w1/{at}/{name}", Washer = "w1", At = At(at), Setpoint = "setpoint." + name, Unit = "s", OldValue = from, NewValue = to,
    };

    /// <summary>Lasts 170 s.</summary>
    private static CycleEnded Cycle(double start, int programme, double hold)
    {
        var (begin, end) = (Edge(start), Edge(start + 170));
        var cycle = new CycleRecord
        {
            Id = $"w1-{start}", Washer = "w1", Start = begin, End = end, Outcome = CycleOutcome.Completed, Programme = programme, Phases = [], Stations = [], Gaps = [], Pauses = [],
            Setpoints = new Dictionary<string, double> { ["setpoint.sanitise.hold"] = hold, ["setpoint.caustic-wash.wall-spray"] = 12 },
        };
        return new CycleEnded { Id = cycle.Id + "/ended", Washer = "w1", CycleId = cycle.Id, At = end.Wall, Cycle = cycle };
    }

    private static Edge Edge(double seconds) => new(new Moment(At(seconds).Earliest, At(seconds).Earliest, 0), new Moment(At(seconds).Latest, At(seconds).Latest, 0));

    private static RecipeActed Acted(double seconds, RecipeStep step, string by) => new()
    {
        Id = $"site/recipe/{seconds}", Washer = "w1", At = At(seconds), Act = new Act { By = by, Reason = "as tried" }, RecipeId = "full", Version = 2, Step = step,
    };
}
