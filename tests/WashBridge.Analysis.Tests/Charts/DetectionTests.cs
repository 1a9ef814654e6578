using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Charts;

public sealed class DetectionTests
{
    private const double Every = 10_000;
    private static readonly ChartDesign Design = new(Every);

    [Theory]
    [InlineData(0.5, 2000, 1.35)]
    [InlineData(1, 2000, 1.35)]
    [InlineData(2, 2000, 1.35)]
    [InlineData(1, 500, 1.4)]
    [InlineData(2, 500, 1.4)]
    public void A_step_is_found_about_as_soon_as_by_the_best_sum_that_knows_everything(double step, int reference, double bar)
    {
        var best = CusumRunLength.TwoSided(step / 2, CusumRunLength.LimitTwoSided(step / 2, Every), step);
        var delay = Enumerable.Range(0, 150).Select(seed => Detect("normal", seed, reference, t => step)).OfType<Detection>().Average(d => d.Delay);
        Assert.InRange(delay / best, 0.8, bar);
    }

    [Theory]
    [InlineData("normal", 1, 0)]
    [InlineData("normal", 0, 0.02)]
    [InlineData("skewed", 1.5, 0)]
    [InlineData("ar 0.6", 1.5, 0)]
    public void The_onset_lies_in_its_interval_in_nine_cases_of_ten(string kind, double step, double ramp)
    {
        var found = Enumerable.Range(0, 200).Select(seed => Detect(kind, seed, 1000, t => step + (ramp * t))).OfType<Detection>().ToArray();
        var within = found.Count(d => d.Signal.OnsetEarliest <= 1000 && d.Signal.OnsetLatest >= 1000);

        // Of some 190, 90 % with four standard errors.
        Assert.InRange(within / (double)found.Length, 0.8, 1);
        Assert.All(found, d => Assert.InRange(d.Signal.Onset, d.Signal.OnsetEarliest, d.Signal.OnsetLatest));
    }

    [Theory]
    [InlineData("normal", 2)]
    [InlineData("ar 0.6", 3)]
    public void The_size_is_the_change_of_the_values_also_where_memory_hides_most_of_it_from_the_residuals(string kind, double step)
    {
        var found = Enumerable.Range(0, 100).Select(seed => Detect(kind, seed, 2000, _ => step)).OfType<Detection>().ToArray();
        var deviation = new Plant(kind, 0).Deviation;
        Assert.InRange(found.Average(d => d.Signal.Size) / (step * deviation), 0.85, 1.35);
        Assert.All(found, d => Assert.Equal(1, d.Signal.Direction));

        // The true size is within two standard uncertainties about as often as it should be, less what comes of signalling on the large ones.
        Assert.InRange(found.Count(d => Math.Abs(d.Signal.Size - (step * deviation)) < 2 * d.Signal.SizeUncertainty) / (double)found.Length, 0.8, 1);
    }

    [Fact]
    public void One_value_far_out_is_told_at_once_and_ends_by_itself()
    {
        var plant = new Plant("normal", 3);
        var chart = Taught(plant, 3, 3000);
        var signal = Assert.IsType<ChartSignal>(chart.Accept(3000, 1, 60));
        Assert.Equal(Core.Drift.ChartKind.Individuals, signal.Kind);
        Assert.Equal((3000, 3000, 3000, 1), (signal.OnsetEarliest, signal.Onset, signal.OnsetLatest, signal.ValuesSince));
        Assert.Contains(Enumerable.Range(3001, 12).Select(i => chart.Accept(i, (ulong)i, plant.Next()!.Value)), n => n is ChartReturn);
        Assert.False(chart.IsDrifting);
    }

    [Fact]
    public void A_drift_is_told_once_again_when_it_has_doubled_and_when_it_is_over()
    {
        var plant = new Plant("normal", 5);
        var chart = Taught(plant, 5, 2000);
        var news = new List<(int At, ChartNews News)>();
        for (var i = 2000; i < 3200; i++)
        {
            var shift = i < 2300 ? 1.5 : i < 2600 ? 4.5 : 0;
            if (chart.Accept(i, (ulong)i * 77, plant.Next()!.Value + shift) is { } told)
            {
                news.Add((i, told));
            }
        }

        Assert.Equal([typeof(ChartSignal), typeof(ChartSignal), typeof(ChartReturn)], news.Take(3).Select(n => n.News.GetType()));
        var (first, second) = ((ChartSignal)news[0].News, (ChartSignal)news[1].News);
        Assert.InRange(news[0].At, 2000, 2030);
        Assert.False(first.IsWorse);
        Assert.InRange(news[1].At, 2300, 2310);
        Assert.True(second.IsWorse);
        Assert.True(second.Size >= 2 * first.Size);
        Assert.Equal(first.Onset, second.Onset);
        Assert.InRange(news[2].At, 2600, 2620);
    }

    [Fact]
    public void What_drifted_does_not_enter_the_reference()
    {
        var plant = new Plant("normal", 6);
        var chart = Taught(plant, 6, 500);
        for (var i = 500; i < 1500; i++)
        {
            chart.Accept(i, (ulong)i * 31, plant.Next()!.Value + 1);
        }

        Assert.True(chart.IsDrifting);
        Assert.InRange(chart.ReferenceCycles, 470, 510);
    }

    [Fact]
    public void A_value_known_badly_is_passed_over_and_a_new_way_of_measuring_is_not()
    {
        var plant = new Plant("normal", 7);
        var chart = new FeatureChart("f");
        chart.Promise(Design);
        for (var i = 0; i < 1000; i++)
        {
            Assert.Null(chart.Accept(i, (ulong)i * 31, plant.Next()!.Value, 0.1));
        }

        Assert.Null(chart.Accept(1000, 5, 90, 40));
        Assert.Equal(1000, chart.ReferenceCycles);
        for (var i = 1001; i < 1100; i++)
        {
            chart.Accept(i, (ulong)i * 31, plant.Next()!.Value, 1.5);
        }

        Assert.InRange(chart.ReferenceCycles, 1010, 1060);
    }

    [Fact]
    public void After_a_restart_the_new_level_is_the_reference()
    {
        var plant = new Plant("normal", 8);
        var chart = Taught(plant, 8, 1000);
        chart.Restart();
        for (var i = 1000; i < 2000; i++)
        {
            Assert.Null(chart.Accept(i, (ulong)i * 31, plant.Next()!.Value + 50));
        }

        Assert.Equal(1000, chart.ReferenceCycles);
    }

    [Fact]
    public void A_missing_value_cannot_be_given_as_a_number()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new FeatureChart("f").Accept(1, 1, double.NaN));
        Assert.Throws<ArgumentOutOfRangeException>(() => new FeatureChart("f").Promise(5));
    }

    private static FeatureChart Taught(Plant plant, int seed, int cycles)
    {
        var chart = new FeatureChart("f");
        chart.Promise(Design);
        for (var i = 0; i < cycles; i++)
        {
            Assert.Null(chart.Accept(i, DeterministicHash.Of($"{seed}/{i}"), plant.Next()!.Value));
        }

        return chart;
    }

    /// <returns>Null: a false alarm came before the change.</returns>
    private static Detection? Detect(string kind, int seed, int reference, Func<int, double> shift)
    {
        var plant = new Plant(kind, 1000 + seed);
        var chart = new FeatureChart($"f{seed}");
        chart.Promise(Design);
        for (var i = 0; i < 20_000; i++)
        {
            var change = i < reference ? 0 : shift(i - reference + 1) * plant.Deviation;
            if (chart.Accept(i, DeterministicHash.Of($"{seed}/{i}"), plant.Next()!.Value + change) is ChartSignal signal)
            {
                return i < reference ? null : new Detection(i - reference + 1, signal);
            }
        }

        throw new InvalidOperationException("never found");
    }

    private sealed record Detection(int Delay, ChartSignal Signal);
}
