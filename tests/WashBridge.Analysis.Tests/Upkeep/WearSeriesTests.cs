using CsCheck;
using WashBridge.Analysis.Upkeep.Forecasting;

namespace WashBridge.Analysis.Tests.Upkeep;

public sealed class WearSeriesTests
{
    [Fact]
    public void A_year_takes_some_hundred_blocks_and_loses_no_value()
    {
        var series = new WearSeries();
        for (var i = 0; i < 25_000; i++)
        {
            series.Add(i, i);
        }

        Assert.InRange(series.Blocks.Count, 60, 160);
        Assert.Equal(25_000, series.Count);
        Assert.All(series.Blocks, b => Assert.Equal(b.Time, b.Value, 0.001 * b.Value));
        Assert.Equal(series.Blocks.OrderBy(b => b.Time), series.Blocks);
        Assert.Equal(WearSeries.Finest, series.Blocks[^1].Count);
    }

    [Fact]
    public void The_spread_is_that_of_single_values()
    {
        var random = new Random(2);
        var series = new WearSeries();
        for (var i = 0; i < 4_000; i++)
        {
            series.Add(i, 10 + MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1));
        }

        Assert.InRange(series.Blocks.Average(b => b.Spread * b.Count) / series.Blocks.Average(b => b.Count), 0.9, 1.1);
    }

    [Fact]
    public void Restored_it_goes_on_the_same() =>
        Gen.Select(Gen.Double[-5, 5].Array[1, 900], Gen.Int[0, 900]).Sample((values, at) =>
        {
            var whole = new WearSeries();
            var part = new WearSeries();
            for (var i = 0; i < values.Length; i++)
            {
                whole.Add(i, values[i]);
                part = i == at ? new WearSeries(part.Blocks, part.Pending) : part;
                part.Add(i, values[i]);
            }

            Assert.Equal(whole.Blocks, part.Blocks);
        });
}
