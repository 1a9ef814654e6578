using CsCheck;
using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Charts;

public sealed class ChartSnapshotTests
{
    [Fact]
    public void Cut_anywhere_a_chart_goes_on_the_same()
    {
        Gen.Select(Gen.Int[0, Plant.Kinds.Length - 1], Gen.Int[0, 100_000], Gen.Int[0, 5500]).Sample(
            (kind, seed, cut) =>
            {
                var values = Values(Plant.Kinds[kind], seed);
                cut = Math.Min(cut, values.Length);
                var whole = New();
                var expected = values.Select((v, i) => Give(whole, i, v)).ToArray();
                var first = New();
                var told = values[..cut].Select((v, i) => Give(first, i, v)).ToList();
                var second = new FeatureChart("f");
                var snapshot = first.Snapshot();
                second.Restore(snapshot);
                Assert.Equal(snapshot, second.Snapshot());
                told.AddRange(values[cut..].Select((v, i) => Give(second, cut + i, v)));
                Assert.Equal(expected, told);
                Assert.Equal(whole.Snapshot(), second.Snapshot());
            },
            iter: 40);
    }

    [Fact]
    public void A_snapshot_is_bounded()
    {
        var chart = New();
        var plant = new Plant("ar 0.6", 1);
        var largest = 0;
        for (var i = 0; i < 12_000; i++)
        {
            Give(chart, i, plant.Next()!.Value);
            largest = i % 500 == 0 ? Math.Max(largest, chart.Snapshot().Length) : largest;
        }

        Assert.InRange(largest, 30_000, 110_000);
        Assert.InRange(chart.Snapshot().Length, 20_000, 60_000);
    }

    private static FeatureChart New()
    {
        var chart = new FeatureChart("f");
        chart.Promise(1000);
        return chart;
    }

    private static ChartNews? Give(FeatureChart chart, int cycle, double? value) => value is { } v ? chart.Accept(cycle, DeterministicHash.Of($"c{cycle}"), v, 0.01) : null;

    // Over the end of the reference's growth, with two drifts.
    private static double?[] Values(string kind, int seed)
    {
        var plant = new Plant(kind, seed);
        return [.. Enumerable.Range(0, 5500).Select(i => plant.Next() + (i is > 700 and < 800 or > 4600 and < 5000 ? 4 : 0))];
    }
}
