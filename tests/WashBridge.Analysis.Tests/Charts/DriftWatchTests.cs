using WashBridge.Analysis.Charts;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Tests.Charts;

public sealed class DriftWatchTests
{
    private readonly WasherPlant _plant = new(1);
    private readonly DriftWatch _watch = New(100_000);

    [Fact]
    public void A_clogging_valve_is_found_with_its_station_its_size_and_the_kegs_it_touched()
    {
        Quiet(1000);
        _plant.Clogged = 0.06;
        var found = Assert.IsType<DriftFound>(Until("drain-index@2"));
        var finding = found.Finding;
        Assert.InRange(finding.Size, 0.03, 0.09);
        Assert.InRange(finding.CyclesTouched, 1, 30);
        Assert.Equal(finding.CyclesTouched, finding.KegCount);
        Assert.All(finding.Kegs, k => Assert.EndsWith("-k2", k, StringComparison.Ordinal));
        Assert.Equal(found.CycleId + "-k2", finding.Kegs[^1]);
        Assert.Equal(finding.Onset.Cycle + "-k2", finding.Kegs[0]);
        Assert.True(finding.Onset.Earliest <= finding.Onset.At && finding.Onset.At <= finding.Onset.Latest);
        Assert.Equal($"{found.CycleId}/drift/drain-index@2/found", found.Id);
        Assert.Equal(100_000, finding.FalseAlarmEvery);
        Assert.Equal(1, finding.Centre, 0.02);
    }

    [Fact]
    public void Of_many_kegs_the_latest_are_told_and_how_many_there_were()
    {
        Quiet(1000);
        _plant.Timing = 0.4;
        var finding = ((DriftFound)Until("timing")).Finding;
        Assert.True(finding.KegCount > 200, $"{finding.KegCount}");
        Assert.Equal(finding.CyclesTouched * 3, finding.KegCount);
        Assert.Equal(200, finding.Kegs.Count);
    }

    [Fact]
    public void A_recipe_with_more_liquid_is_no_clogged_valve_and_hides_none()
    {
        Quiet(1000);
        _plant.LitresFactor = 1.3;
        _plant.RecipeVersion = 2;
        Quiet(1500);
        _plant.Clogged = 0.06;
        Assert.IsType<DriftFound>(Until("drain-index@2"));
    }

    [Fact]
    public void Another_recipe_begins_the_references_that_depend_on_it_anew_and_no_others()
    {
        Quiet(1000);
        _plant.Timing = 3;
        _plant.Pressure = 3;
        var found = new HashSet<string>();
        for (var i = 0; i < 40; i++)
        {
            found.UnionWith(_watch.Accept(_plant.Next()).OfType<DriftFound>().Select(f => f.Finding.Feature));
        }

        Assert.Superset(new HashSet<string> { "timing", "spray-pressure/caustic" }, found);
        _plant.RecipeVersion = 2;
        var ended = _watch.Accept(_plant.Next()).OfType<DriftEnded>().Select(e => e.Feature).ToArray();
        Assert.Equal(["timing"], ended);
        Quiet(300);
    }

    [Theory]
    [InlineData(MaintenanceKind.Replaced, 2, true)]
    [InlineData(MaintenanceKind.Restored, 0, true)]
    [InlineData(MaintenanceKind.Inspected, 2, false)]
    [InlineData(MaintenanceKind.Replaced, 1, false)]
    public void Maintenance_ends_the_drifts_of_what_it_was_done_to(MaintenanceKind work, int station, bool ends)
    {
        Quiet(1000);
        _plant.Clogged = 0.1;
        Until("drain-index@2");
        var told = _watch.Accept(WasherPlant.Work(new Component(ComponentKind.DrainValve, "", station), work));
        Assert.Equal(ends ? ["work-1/drift/drain-index@2/ended"] : [], told.Where(t => !t.Id.Contains("peers", StringComparison.Ordinal)).Select(t => t.Id));
    }

    [Fact]
    public void A_station_that_leaves_its_peers_is_found_where_all_of_them_scatter_together()
    {
        Quiet(2000);
        _plant.Purge3 = 4;
        var found = (DriftFound)Until("peers/purge-high@3");
        Assert.Equal(ChartKind.Peers, found.Finding.Chart);
        Assert.Equal("bar(a)", found.Finding.Unit);
        Assert.Equal(0.08, found.Finding.Size, 0.03);
    }

    [Fact]
    public void A_small_change_that_two_figures_share_is_found_by_their_group_and_both_are_named()
    {
        // Alone each would take some hundred cycles.
        var sooner = 0;
        for (var seed = 0; seed < 10; seed++)
        {
            var plant = new WasherPlant(500 + seed);
            var watch = New(2000);
            for (var i = 0; i < 3000; i++)
            {
                watch.Accept(plant.Next());
            }

            plant.Against = 0.9;
            DriftFound? first = null;
            while (first is null)
            {
                first = watch.Accept(plant.Next()).OfType<DriftFound>().FirstOrDefault(f => f.Finding.Feature.StartsWith("spray-flow", StringComparison.Ordinal) || f.Finding.Feature == "group/sprays");
            }

            if (first.Finding.Feature == "group/sprays")
            {
                sooner++;
                Assert.Equal(ChartKind.Group, first.Finding.Chart);
                Assert.All(first.Finding.Contributions.Take(2), c => Assert.StartsWith("spray-flow/", c.Feature, StringComparison.Ordinal));
            }
        }

        Assert.InRange(sooner, 2, 10);
    }

    [Fact]
    public void Cycles_that_were_not_completed_teach_nothing()
    {
        Quiet(500);
        var before = _watch.Snapshot();
        Assert.Empty(_watch.Accept(_plant.Next(CycleOutcome.Aborted)));
        Assert.Empty(_watch.Accept(_plant.Next(CycleOutcome.EndUnseen)));
        Assert.Equal(before, _watch.Snapshot());
    }

    [Fact]
    public void All_charts_of_a_washer_share_one_promise()
    {
        // 12 washers with 3,000 cycles and one false alarm in 1,000: 36 are expected, seven standard errors below 80.
        var alarms = 0;
        for (var seed = 0; seed < 12; seed++)
        {
            var plant = new WasherPlant(100 + seed);
            var watch = New(1000, small: true);
            for (var i = 0; i < 3000; i++)
            {
                alarms += watch.Accept(plant.Next()).OfType<DriftFound>().Count(f => !f.Id.EndsWith("/worse", StringComparison.Ordinal));
            }
        }

        Assert.InRange(alarms, 12, 80);
    }

    [Fact]
    public void What_is_within_a_sensors_tolerance_is_told_only_when_asked_for()
    {
        var (usual, all) = (new List<double>(), new List<double>());
        for (var seed = 0; seed < 12; seed++)
        {
            var plant = new WasherPlant(700 + seed);
            var (one, other) = (New(2000), New(2000, small: true));
            for (var i = 0; i < 2500; i++)
            {
                plant.Timing = i < 1500 ? 0 : 0.2; // 0.08 s
                var cycle = plant.Next();
                usual.AddRange(Sizes(one, cycle));
                all.AddRange(Sizes(other, cycle));
            }
        }

        Assert.Contains(all, size => size < 0.1);
        Assert.DoesNotContain(usual, size => size < 0.1);

        static IEnumerable<double> Sizes(DriftWatch watch, WashEvent cycle) =>
            watch.Accept(cycle).OfType<DriftFound>().Where(f => f.Finding.Feature == "timing").Select(f => Math.Abs(f.Finding.Size));
    }

    [Fact]
    public void A_slow_figure_is_charted_by_means_and_told_with_the_first_cycle_of_its_onset()
    {
        Quiet(7000);
        _plant.Stronger = 3;
        var found = ((DriftFound)Until("strength/caustic")).Finding;
        Assert.InRange(found.Size, 1.5, 3.3);
        Assert.Equal(0, found.CyclesTouched % 50);
    }

    [Theory]
    [InlineData(60)]
    [InlineData(100)]
    [InlineData(433)]
    [InlineData(1010)]
    [InlineData(1300)]
    public void Cut_anywhere_the_watch_goes_on_the_same(int cut)
    {
        var events = new List<WashEvent>();
        for (var i = 0; i < 1500; i++)
        {
            _plant.Timing = i is > 600 and < 700 ? 3 : 0;
            _plant.RecipeVersion = i < 1000 ? 1 : 2;
            _plant.LitresFactor = i < 1000 ? 1 : 1.2;
            _plant.Clogged = i > 1250 ? 0.1 : 0;
            events.Add(_plant.Next());
        }

        events.Insert(1400, WasherPlant.Work(new Component(ComponentKind.DrainValve, "", 2), MaintenanceKind.Replaced));
        var whole = New(2000);
        var expected = events.SelectMany(whole.Accept).Select(WashJson.Write).ToArray();
        var first = New(2000);
        var told = events[..cut].SelectMany(first.Accept).Select(WashJson.Write).ToList();
        var second = New(2000);
        second.Restore(first.Snapshot());
        told.AddRange(events[cut..].SelectMany(second.Accept).Select(WashJson.Write));
        Assert.Equal(expected, told);
        Assert.Equal(whole.Snapshot(), second.Snapshot());
        Assert.Contains(expected, e => e.Contains("drain-index@2/found", StringComparison.Ordinal));
    }

    [Fact]
    public void The_order_of_a_cycles_figures_does_not_matter()
    {
        var shuffled = New(1000);
        var watch = New(1000);
        var random = new Random(5);
        for (var i = 0; i < 1500; i++)
        {
            _plant.Timing = i > 600 ? 2 : 0;
            var cycle = _plant.Next();
            var figures = cycle.Features.Figures.ToArray();
            random.Shuffle(figures);
            Assert.Equal(
                watch.Accept(cycle).Select(WashJson.Write).Order(StringComparer.Ordinal),
                shuffled.Accept(cycle with { Features = cycle.Features with { Figures = figures } }).Select(WashJson.Write).Order(StringComparer.Ordinal));
        }
    }

    private static DriftWatch New(double every, bool small = false) => new(new AnalysisSettings { Washer = "w1", Stations = 3, FalseAlarmEvery = every, TellSmallChanges = small });

    private void Quiet(int cycles)
    {
        for (var i = 0; i < cycles; i++)
        {
            Assert.Empty(_watch.Accept(_plant.Next()));
        }
    }

    private WashEvent Until(string feature)
    {
        for (var i = 0; i < 2000; i++)
        {
            if (_watch.Accept(_plant.Next()).OfType<DriftFound>().FirstOrDefault(f => f.Finding.Feature == feature) is { } found)
            {
                return found;
            }
        }

        throw new InvalidOperationException($"{feature} was not found");
    }
}
