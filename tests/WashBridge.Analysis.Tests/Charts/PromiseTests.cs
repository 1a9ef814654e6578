using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Charts;

/// <summary>One false alarm in N values: counted where nothing is wrong. The bench analysis-charts does it with more values and longer runs.</summary>
public sealed class PromiseTests
{
    public static TheoryData<string> Kinds => [.. Plant.Kinds];

    [Theory]
    [MemberData(nameof(Kinds))]
    public void One_false_alarm_in_as_many_values_as_promised(string kind)
    {
        // 30 figures of 12,000 values expect 360 alarms: the tolerance is four standard errors and more, and within what a wrong limit would make of it.
        const double Every = 1000;
        var design = new ChartDesign(Every);
        var (values, alarms) = (0, 0);
        for (var figure = 0; figure < 30; figure++)
        {
            var run = Run(kind, figure, design, 12_000);
            values += run.Values;
            alarms += run.Alarms;
        }

        Assert.InRange(alarms * Every / values, 0.72, 1.3);
    }

    [Fact]
    public void Scores_are_independent_standard_normal_while_the_reference_grows()
    {
        foreach (var kind in new[] { "skewed", "coarse", "two-valued" })
        {
            var scores = new List<double>();
            var lags = new List<double>();
            for (var figure = 0; figure < 40; figure++)
            {
                var plant = new Plant(kind, figure);
                var chart = new FeatureChart($"f{figure}");
                for (var i = 0; i < 1600; i++)
                {
                    var last = chart.LastScore;
                    chart.Accept(i, DeterministicHash.Of($"{kind}{figure}/{i}"), plant.Next()!.Value);
                    if (i > 400)
                    {
                        scores.Add(chart.LastScore);
                        lags.Add(chart.LastScore * last);
                    }
                }
            }

            // 48,000 scores: five standard errors.
            Assert.Equal(0, scores.Average(), 0.023);
            Assert.Equal(1, scores.Average(s => s * s), 0.033);
            Assert.Equal(3, scores.Average(s => s * s * s * s), 0.25);
            Assert.Equal(0, lags.Average(), 0.023);
        }
    }

    [Fact]
    public void Single_values_do_not_take_more_than_their_share()
    {
        foreach (var kind in new[] { "normal", "skewed", "heavy", "count", "two-valued" })
        {
            var design = new ChartDesign(1000);
            var runs = Enumerable.Range(0, 20).Select(f => Run(kind, f, design, 10_000)).ToArray();
            Assert.InRange(runs.Sum(r => r.Individuals), 0, 20);
        }
    }

    private static (int Values, int Alarms, int Individuals) Run(string kind, int figure, ChartDesign design, int cycles)
    {
        var plant = new Plant(kind, figure);
        var chart = new FeatureChart($"f{figure}");
        chart.Promise(design);
        var (values, alarms, individuals) = (0, 0, 0);
        for (var i = 0; i < cycles; i++)
        {
            if (plant.Next() is { } value)
            {
                // While a false alarm stands none is given.
                values += chart.IsDrifting ? 0 : 1;
                var news = chart.Accept(i, DeterministicHash.Of($"{kind}{figure}/{i}"), value);
                alarms += news is ChartSignal { IsWorse: false } ? 1 : 0;
                individuals += news is ChartSignal { Kind: Core.Drift.ChartKind.Individuals } ? 1 : 0;
            }
        }

        return (values, alarms, individuals);
    }
}
