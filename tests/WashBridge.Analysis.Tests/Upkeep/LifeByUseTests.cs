using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Upkeep;

namespace WashBridge.Analysis.Tests.Upkeep;

public sealed class LifeByUseTests
{
    [Fact]
    public void Two_failures_are_not_enough_evidence() => Assert.Null(LifeByUse.Of([new(100, true), new(120, true), new(150, false)], 10));

    [Fact]
    public void An_old_part_has_less_left_than_a_young_one()
    {
        var lives = new Lifetime[] { new(900, true), new(1000, true), new(1100, true), new(1050, true), new(800, false) };
        var (young, old) = (LifeByUse.Of(lives, 0)!, LifeByUse.Of(lives, 900)!);
        Assert.True(young.Shape > 3);
        Assert.InRange(young.Median, 850, 1200);
        Assert.InRange(old.Median, 40, 300);
        Assert.True(old.Lower < old.Median && old.Median < old.Upper);
    }

    [Fact]
    public void Intervals_from_few_lives_hold_their_promise()
    {
        // Five lives tell of the sixth, 400 times: four in five, within three and a half standard errors.
        var random = new Random(21);
        var held = 0;
        for (var i = 0; i < 400; i++)
        {
            var lives = Enumerable.Range(0, 5).Select(_ => new Lifetime(new Weibull(2.5, 1000).Quantile(random.NextDouble()), true)).ToList();
            var (next, life) = (new Weibull(2.5, 1000).Quantile(random.NextDouble()), LifeByUse.Of(lives, 0)!);
            held += life.Lower <= next && next <= life.Upper ? 1 : 0;
        }

        Assert.InRange(held / 400.0, 0.73, 0.87);
    }
}
