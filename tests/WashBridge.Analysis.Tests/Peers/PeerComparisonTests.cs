using WashBridge.Analysis.Peers;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Tests.Peers;

public sealed class PeerComparisonTests
{
    private const string Figure = "spray-pressure/caustic";

    [Fact]
    public void One_that_is_unlike_the_rest_stands_out_with_its_difference()
    {
        var random = new Random(1);
        var standings = PeerComparison.Of(Washers(8, w => 3.0 + (0.02 * Normal(random)) + (w == 5 ? -0.4 : 0), random));
        var found = Assert.Single(standings, s => s.StandsOut);
        Assert.Equal("w5", found.Who);
        Assert.Equal("bar(a)", found.Unit);
        Assert.InRange(found.Difference, -0.5, -0.3);
    }

    [Fact]
    public void Peers_that_are_alike_stand_out_as_seldom_as_promised()
    {
        var random = new Random(2);
        var groups = 2000;
        var unlike = Enumerable.Range(0, groups).Count(_ => PeerComparison.Of(Washers(6, _ => 3 + (0.05 * Normal(random)), random)).Any(s => s.StandsOut));

        // Binomial with p = 0.01: mean 20, standard deviation 4.5.
        Assert.InRange(unlike, 2, 38);
    }

    [Fact]
    public void A_difference_within_the_scatter_of_cycles_does_not_stand_out() =>
        Assert.DoesNotContain(PeerComparison.Of(Washers(6, _ => 3, new Random(3))), s => s.StandsOut);

    [Fact]
    public void Three_peers_are_told_their_differences_but_nobody_is_called_unlike()
    {
        var random = new Random(4);
        var standings = PeerComparison.Of(Washers(3, w => w, random));
        Assert.Equal(3, standings.Count);
        Assert.All(standings, s => Assert.Null(s.Probability));
        Assert.DoesNotContain(standings, s => s.StandsOut);
        Assert.Equal(1.5, standings[^1].Difference, 0.1);
    }

    [Fact]
    public void Values_that_hang_together_are_less_certain()
    {
        var random = new Random(5);
        var loose = PeerComparison.Of(Washers(4, _ => 3, random))[0].Uncertainty;
        var drift = 0.0;
        var tied = PeerComparison.Of(Cycles(4, (_, _) => 3 + (drift = (0.95 * drift) + (0.31 * 0.1 * Normal(random)))))[0].Uncertainty;
        Assert.True(tied > 2 * loose, $"{tied} is not clearly above {loose}");
    }

    [Fact]
    public void Stations_are_peers_of_one_another_and_a_lonely_figure_has_none()
    {
        var random = new Random(6);
        var cycles = Enumerable.Range(0, 40).Select(_ => Cycle(
        [
            new Feature(Figure, 0, Normal(random), 0),
            .. Enumerable.Range(1, 4).Select(s => new Feature("purge-high", s, 3 + (0.01 * Normal(random)), 0)),
        ])).ToList();
        var standings = PeerComparison.Of(new Dictionary<string, IReadOnlyList<CycleFeatures>> { ["w"] = cycles });
        Assert.Equal(["w@1", "w@2", "w@3", "w@4"], standings.Select(s => s.Who));
    }

    /// <summary>100 cycles each, scattered by 0.1 about a level of its own.</summary>
    private static Dictionary<string, IReadOnlyList<CycleFeatures>> Washers(int count, Func<int, double> level, Random random)
    {
        var levels = Enumerable.Range(0, count).Select(level).ToList();
        return Cycles(count, (w, _) => levels[w] + (0.1 * Normal(random)));
    }

    private static Dictionary<string, IReadOnlyList<CycleFeatures>> Cycles(int count, Func<int, int, double> value) =>
        Enumerable.Range(0, count).ToDictionary(w => $"w{w}", w => (IReadOnlyList<CycleFeatures>)[.. Enumerable.Range(0, 100).Select(i => Cycle([new Feature(Figure, 0, value(w, i), 0)]))]);

    private static CycleFeatures Cycle(IReadOnlyList<Feature> figures) => new()
    {
        Outcome = CycleOutcome.Completed,
        Started = Instant.Parse("2031-03-05T08:00:00Z"),
        Ended = Instant.Parse("2031-03-05T08:03:00Z"),
        Recipe = "r",
        RecipeVersion = 1,
        Kegs = [],
        Figures = figures,
    };

    private static double Normal(Random random) => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
