using WashBridge.Analysis.Upkeep.Health;

namespace WashBridge.Analysis.Tests.Upkeep;

public sealed class FeatureNormTests
{
    [Fact]
    public void A_figure_that_was_very_even_is_followed_wherever_it_goes()
    {
        var norm = Learned(9.5);
        for (var i = 0; i < 400; i++)
        {
            norm.See(9.5 + (18 * Math.Min(1, i / 300.0)));
        }

        Assert.InRange(norm.Now, 27, 27.5);
        Assert.InRange(norm.Ratio, 2.85, 2.9);
    }

    [Fact]
    public void One_wild_cycle_hardly_moves_it()
    {
        var norm = Learned(9.5);
        norm.See(300);
        Assert.InRange(norm.Now, 9.5, 9.6);
    }

    [Fact]
    public void How_far_single_cycles_scatter_is_that_of_the_latest()
    {
        var norm = Learned(10);
        var random = new Random(1);
        for (var i = 0; i < 100; i++)
        {
            norm.See(20 + MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1.5));
        }

        // Of 24 values: three standard errors of their spread are 0.65.
        Assert.InRange(norm.NowSpread, 0.85, 2.15);
    }

    private static FeatureNorm Learned(double value)
    {
        var norm = new FeatureNorm();
        for (var i = 0; i < FeatureNorm.ReferenceCycles; i++)
        {
            norm.See(value + (0.01 * (i % 2)));
        }

        Assert.True(norm.IsLearned);
        return norm;
    }
}
