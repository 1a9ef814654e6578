using WashBridge.Analysis.Peers;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Tests.Peers;

public sealed class PeerComparisonTests
{
    private const string Figure = "spray-pressure/caustic";
    private const string OfStations = "purge-high";

    [Fact]
    public void One_that_is_unlike_the_rest_stands_out_with_its_difference()
    {
        var random = new Random(1);
        var standings = PeerComparison.Of(Washers(8, w => 3.0 + (0.02 * Normal(random)) + (w == 5 ? -0.4 : 0), random));
        var found = Assert.Single(standings, s => s.State == PeerState.StandsOut);
        Assert.Equal(("w5", "bar(a)", 8, 100), (found.Who, found.Unit, found.Peers, found.Cycles));
        Assert.InRange(found.Difference, -0.5, -0.3);
        Assert.Equal(found.Median - found.Difference, found.PeersMedian);
    }

    [Fact]
    public void Peers_that_are_alike_stand_out_as_seldom_as_promised()
    {
        var random = new Random(2);
        var groups = 2000;
        var unlike = Enumerable.Range(0, groups).Count(_ => PeerComparison.Of(Washers(6, _ => 3 + (0.2 * Normal(random)), random)).Any(s => s.State == PeerState.StandsOut));

        // Binomial with p = 0.01: mean 20, standard deviation 4.5.
        Assert.InRange(unlike, 2, 38);
    }

    /// <summary>The promise of the comparison of stations holds however they are spread over washers, and however much washers differ from one another.</summary>
    [Theory]
    [InlineData(1, 4)]
    [InlineData(3, 2)]
    [InlineData(2, 3)]
    [InlineData(3, 4)]
    public void Stations_that_are_alike_stand_out_as_seldom_as_promised(int washers, int stations)
    {
        var random = new Random(7);
        var unlike = Enumerable.Range(0, 2000).Count(_ => PeerComparison.Of(Stations(washers, stations, 30, w => 10 * w, (_, _) => 0.3 * Normal(random), random)).Any(s => s is { State: PeerState.StandsOut, Station: > 0 }));
        Assert.InRange(unlike, 1, 38);
    }

    [Fact]
    public void A_difference_within_the_scatter_of_cycles_does_not_stand_out() =>
        Assert.All(PeerComparison.Of(Washers(6, _ => 3, new Random(3))), s => Assert.Equal(PeerState.Alike, s.State));

    /// <summary>Two sensors may be 20 mbar apart for ever and both be right within what they claim.</summary>
    [Fact]
    public void A_difference_within_what_sensors_may_be_off_by_does_not_stand_out() =>
        Assert.All(PeerComparison.Of(Cycles(6, (w, i) => 3 + (w == 5 ? 0.02 : 0) + (0.0001 * (i % 2)))), s => Assert.Equal(PeerState.Alike, s.State));

    [Fact]
    public void Three_washers_are_told_their_differences_but_nobody_is_called_unlike()
    {
        var random = new Random(4);
        var standings = PeerComparison.Of(Washers(3, w => w, random));
        Assert.Equal(3, standings.Count);
        Assert.All(standings, s => Assert.Null(s.Probability));
        Assert.Equal([PeerState.TooFewPeers, PeerState.Alike, PeerState.TooFewPeers], standings.Select(s => s.State));
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
            .. Enumerable.Range(1, 4).Select(s => new Feature(OfStations, s, 3 + (0.01 * Normal(random)), 0)),
        ])).ToList();
        var standings = PeerComparison.Of(new Dictionary<string, IReadOnlyList<CycleFeatures>> { ["w"] = cycles });
        Assert.Equal(["w@1", "w@2", "w@3", "w@4"], standings.Select(s => s.Who));
    }

    /// <summary>What all stations of a washer do alike, however wildly, hides nothing of how they differ.</summary>
    [Fact]
    public void A_station_stands_out_though_its_washer_wanders_by_far_more()
    {
        var random = new Random(8);
        var wander = 0.0;
        var standings = PeerComparison.Of(Stations(1, 4, 100, _ => wander += Normal(random), (_, s) => s == 3 ? 0.6 : 0.01 * s, random));
        var found = Assert.Single(standings, s => s.State == PeerState.StandsOut);
        Assert.Equal("w0@3", found.Who);
        Assert.Equal(0.6, found.Difference, 0.05);
        Assert.True(found.Uncertainty < 0.02, $"{found.Uncertainty}");
    }

    /// <summary>Two stations alone tell nothing; the washers beside them tell how much two stations differ by nature.</summary>
    [Fact]
    public void Pairs_of_stations_of_several_washers_tell_which_pair_is_unlike_itself()
    {
        var random = new Random(9);
        double Level(int washer, int station) => (washer, station) == (2, 2) ? 1.5 : 0.02 * (washer + station);
        var alone = PeerComparison.Of(Stations(1, 2, 50, _ => 0, (_, s) => Level(2, s), random));
        Assert.All(alone, s => Assert.Equal((PeerState.TooFewPeers, null), (s.State, s.Probability)));
        var together = PeerComparison.Of(Stations(4, 2, 50, w => 5 * w, Level, random)).Where(s => s.Station > 0);
        Assert.Equal(["w2@1", "w2@2"], together.Where(s => s.State == PeerState.StandsOut).Select(s => s.Who));
    }

    /// <summary>A station that is mostly empty has no say, and does not cost the others their cycles.</summary>
    [Fact]
    public void A_station_that_is_seldom_used_is_left_out()
    {
        var random = new Random(10);
        var cycles = Enumerable.Range(0, 60).Select(i => Cycle([.. Enumerable.Range(1, 5).Where(s => s < 5 || i % 3 == 0).Select(s => new Feature(OfStations, s, Normal(random), 0))])).ToList();
        var standings = PeerComparison.Of(new Dictionary<string, IReadOnlyList<CycleFeatures>> { ["w"] = cycles });
        Assert.Equal([("w@1", 60), ("w@2", 60), ("w@3", 60), ("w@4", 60)], standings.Select(s => (s.Who, s.Cycles)));
    }

    [Fact]
    public void What_follows_the_recipe_is_compared_within_a_recipe_and_what_does_not_across_them()
    {
        var cycles = Enumerable.Range(0, 4).ToDictionary(w => $"w{w}", w => (IReadOnlyList<CycleFeatures>)[.. Enumerable.Range(0, 30).Select(i =>
            Cycle([new Feature(Figure, 0, 3, 0), new Feature("timing", 0, 3, 0)]) with { Recipe = w < 2 ? "short" : $"long{w}" })]);
        var standings = PeerComparison.Of(cycles);
        Assert.Equal(["w0", "w1", "w2", "w3"], standings.Where(s => s.Feature == Figure).Select(s => s.Who));
        Assert.Equal([("w0", "short 1"), ("w1", "short 1")], standings.Where(s => s.Feature == "timing").Select(s => (s.Who, s.Recipe)));
    }

    [Fact]
    public void Washers_with_another_number_of_stations_and_unfinished_cycles_are_not_compared()
    {
        var cycles = Enumerable.Range(0, 3).ToDictionary(w => $"w{w}", w => (IReadOnlyList<CycleFeatures>)[.. Enumerable.Range(0, 30).Select(i =>
            Cycle([new Feature(Figure, 0, 3, 0)]) with { Kegs = [.. Enumerable.Range(1, w == 0 ? 4 : 2).Select(s => new WashedKeg(s, "k"))], Outcome = i < 25 ? CycleOutcome.Completed : CycleOutcome.Aborted })]);
        Assert.Equal([("w1", 25), ("w2", 25)], PeerComparison.Of(cycles).Select(s => (s.Who, s.Cycles)));
    }

    /// <summary>100 cycles each, scattered by 0.1 about a level of its own.</summary>
    private static Dictionary<string, IReadOnlyList<CycleFeatures>> Washers(int count, Func<int, double> level, Random random)
    {
        var levels = Enumerable.Range(0, count).Select(level).ToList();
        return Cycles(count, (w, _) => levels[w] + (0.1 * Normal(random)));
    }

    private static Dictionary<string, IReadOnlyList<CycleFeatures>> Cycles(int count, Func<int, int, double> value) =>
        Enumerable.Range(0, count).ToDictionary(w => $"w{w}", w => (IReadOnlyList<CycleFeatures>)[.. Enumerable.Range(0, 100).Select(i => Cycle([new Feature(Figure, 0, value(w, i), 0)]))]);

    /// <summary>Washers with stations that scatter by 0.05 about levels of their own, on top of what moves the whole washer from cycle to cycle.</summary>
    private static Dictionary<string, IReadOnlyList<CycleFeatures>> Stations(int washers, int stations, int cycles, Func<int, double> common, Func<int, int, double> level, Random random) =>
        Enumerable.Range(0, washers).ToDictionary(w => $"w{w}", w =>
        {
            var levels = Enumerable.Range(1, stations).Select(s => level(w, s)).ToList();
            return (IReadOnlyList<CycleFeatures>)[.. Enumerable.Range(0, cycles).Select(_ =>
            {
                var together = common(w);
                return Cycle([.. levels.Select((l, i) => new Feature(OfStations, i + 1, together + l + (0.05 * Normal(random)), 0))]);
            })];
        });

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
