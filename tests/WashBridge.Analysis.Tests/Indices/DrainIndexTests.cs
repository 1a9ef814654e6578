using WashBridge.Analysis.Indices;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Tests.Indices;

/// <summary>A station that drains by <c>t = 0.6 s + 1.1 s a litre</c>, with what the tests change of it.</summary>
public sealed class DrainIndexTests
{
    private static readonly (string Name, double Litres)[] Programme =
        [("rinse/1", 4.2), ("rinse/2", 4.1), ("caustic/1", 6.3), ("rinse-after-caustic/1", 5.0), ("acid/1", 6.0), ("rinse-after-acid/1", 5.2), ("sanitise/1", 3.4)];

    private readonly Random _random = new(20261125);

    [Fact]
    public void Is_one_as_long_as_nothing_changes()
    {
        var index = Learnt(new Plant());
        Assert.Equal(0.6, index.FixedSeconds, 0.25);
        Assert.Equal(1.1, index.SecondsPerLitre, 0.06);
        Assert.Equal(1, Mean(index, new Plant()), 0.004);
    }

    [Fact]
    public void A_recipe_with_more_liquid_does_not_move_it()
    {
        var index = Learnt(new Plant());
        var value = Mean(index, new Plant { LitresFactor = 1.4 }, out var last);
        Assert.Equal(1, value, 0.01);

        // It says itself how far the new recipe can be trusted, and that is not much less than it is.
        Assert.InRange(Math.Abs(value - 1), 0, 3 * last.Systematic);
        Assert.InRange(last.Systematic, 1e-4, 0.03);
    }

    [Fact]
    public void A_recipe_with_more_liquid_in_one_phase_and_phases_that_differ_does_not_move_it_beyond_what_it_says()
    {
        var plant = new Plant { Offset = name => name.StartsWith("caustic", StringComparison.Ordinal) ? -0.5 : name.StartsWith("acid", StringComparison.Ordinal) ? 0.4 : 0 };
        var index = Learnt(plant);
        Assert.Equal(1, Mean(index, plant), 0.004);
        var value = Mean(index, plant with { LitresFactor = 1.3 }, out var last);
        Assert.InRange(Math.Abs(value - 1), 0, 2 * last.Systematic);
        Assert.InRange(last.Systematic, 0.005, 0.08);
    }

    [Theory]
    [InlineData(0.05)]
    [InlineData(0.2)]
    public void A_clogging_valve_moves_it_whatever_the_recipe(double lost)
    {
        var index = Learnt(new Plant());

        // Only the flowing part grows: some 5.4 of 6 seconds.
        var expected = 1 + (((1 / (1 - lost)) - 1) * 0.9);
        Assert.Equal(expected, Mean(index, new Plant { Lost = lost }), 0.012);
        Assert.Equal(expected, Mean(index, new Plant { Lost = lost, LitresFactor = 1.4 }), 0.025);
    }

    [Fact]
    public void Odd_drains_in_the_reference_are_no_harm()
    {
        var odd = 0;
        var index = Learnt(new Plant { Offset = _ => odd++ % 10 == 0 ? 9 : 0 });
        Assert.Equal(1, Mean(index, new Plant()), 0.02);
    }

    [Fact]
    public void Missing_drains_are_left_out_and_without_any_there_is_no_index()
    {
        var index = Learnt(new Plant());
        var features = Cycle(new Plant());
        var some = features with { Figures = [.. features.Figures.Where(f => !f.Name.Contains("caustic", StringComparison.Ordinal))] };
        Assert.Equal(5, index.Accept(some)!.Value.Drains);
        Assert.Equal(1, index.Accept(some)!.Value.Ratio, 0.05);
        Assert.Null(index.Accept(features with { Figures = [] }));
        Assert.Null(index.Accept(features with { Outcome = CycleOutcome.Aborted }));
    }

    [Fact]
    public void Without_litres_each_drain_is_compared_with_itself()
    {
        var index = Learnt(new Plant { LitresKnown = false });
        var value = Mean(index, new Plant { LitresKnown = false }, out var last);
        Assert.Equal(1, value, 0.004);
        Assert.Equal((7, 0), (last.Drains, last.DrainsByLitres));
    }

    [Fact]
    public void A_restart_learns_anew()
    {
        var index = Learnt(new Plant());
        index.Restart();
        Assert.Null(index.Accept(Cycle(new Plant { Lost = 0.3 })));
        Assert.True(index.IsLearning);
        for (var i = 0; i < DrainIndex.ReferenceCycles; i++)
        {
            index.Accept(Cycle(new Plant { Lost = 0.3 }));
        }

        Assert.Equal(1, Mean(index, new Plant { Lost = 0.3 }), 0.004);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(49)]
    [InlineData(50)]
    [InlineData(70)]
    public void Cut_anywhere_it_goes_on_the_same(int cut)
    {
        var cycles = Enumerable.Range(0, 80).Select(_ => Cycle(new Plant())).ToArray();
        var whole = new DrainIndex(2);
        var expected = cycles.Select(c => whole.Accept(c)).ToArray();
        var first = new DrainIndex(2);
        var values = cycles[..cut].Select(c => first.Accept(c)).ToList();
        var second = new DrainIndex(2);
        second.Restore(first.Snapshot());
        values.AddRange(cycles[cut..].Select(c => second.Accept(c)));
        Assert.Equal(expected, values);
        Assert.Equal(whole.Snapshot(), second.Snapshot());
    }

    private DrainIndex Learnt(Plant plant)
    {
        var index = new DrainIndex(2);
        for (var i = 0; i < DrainIndex.ReferenceCycles; i++)
        {
            Assert.Null(index.Accept(Cycle(plant)));
        }

        return index;
    }

    private double Mean(DrainIndex index, Plant plant) => Mean(index, plant, out _);

    private double Mean(DrainIndex index, Plant plant, out DrainIndexValue last)
    {
        var values = Enumerable.Range(0, 200).Select(_ => index.Accept(Cycle(plant))!.Value).ToArray();
        last = values[^1];
        return values.Average(v => v.Ratio);
    }

    private CycleFeatures Cycle(Plant plant)
    {
        var figures = new List<Feature>();
        foreach (var (name, usual) in Programme)
        {
            var litres = usual * plant.LitresFactor * (1 + (0.02 * Noise()));
            var seconds = 0.6 + plant.Offset(name) + (1.1 * litres / (1 - plant.Lost)) + (0.08 * Noise());
            figures.Add(new Feature($"drain-time/{name}", 2, seconds, 0.04));
            if (plant.LitresKnown)
            {
                figures.Add(new Feature($"liquid/{name}", 0, litres, 0.02));
            }
        }

        return new CycleFeatures
        {
            Outcome = CycleOutcome.Completed, Started = new Instant(0), Ended = new Instant(1), Recipe = "r", RecipeVersion = 1, Kegs = [], Figures = figures,
        };
    }

    private double Noise() => Math.Sqrt(-2 * Math.Log(1 - _random.NextDouble())) * Math.Cos(2 * Math.PI * _random.NextDouble());

    private sealed record Plant
    {
        public double LitresFactor { get; init; } = 1;

        public double Lost { get; init; }

        public bool LitresKnown { get; init; } = true;

        public Func<string, double> Offset { get; init; } = _ => 0;
    }
}
