using CsCheck;
using MathNet.Numerics.Integration;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

public sealed class FirstPassageTests
{
    /// <summary>Chhikara and Folks (1989); values recomputed with scipy's invgauss.</summary>
    [Fact]
    public void Known_values_of_the_inverse_Gaussian_are_reproduced()
    {
        var passage = new FirstPassage(10, 0.5, 1);
        Assert.Equal(20, passage.Mean, 1e-12);
        Assert.Equal(80, passage.Variance, 1e-12);
        Assert.Equal(0.08006675260587146, passage.Cdf(10), 1e-13);
        Assert.Equal(0.5852888591629861, passage.Cdf(20), 1e-13);
        Assert.Equal(0.874524738465941, passage.Cdf(30), 1e-13);
        Assert.Equal(18.20428388845868, passage.Quantile(0.5), 1e-9);
    }

    /// <summary>The plain formula multiplies exp(400) by a tail of 1e-176.</summary>
    [Fact]
    public void A_sharp_passage_does_not_overflow()
    {
        Assert.Equal(0.51408717, new FirstPassage(50, 1, 0.25).Cdf(50), 5e-9);
        Assert.Equal(0.5, new FirstPassage(1e6, 1, 1e-6).Cdf(1e6), 1e-6);
    }

    [Theory]
    [InlineData(0.0)]
    [InlineData(0.02)]
    public void The_density_is_the_slope_of_the_distribution(double driftVariance)
    {
        var passage = new FirstPassage(10, 0.5, 1, driftVariance);
        foreach (var (from, to) in new[] { (2.0, 10.0), (10.0, 30.0), (30.0, 90.0) })
        {
            Assert.Equal(passage.Cdf(to) - passage.Cdf(from), GaussLegendreRule.Integrate(passage.Pdf, from, to, 200), 1e-9);
        }
    }

    [Fact]
    public void An_uncertain_drift_is_the_mean_over_known_drifts()
    {
        var (mean, deviation) = (0.5, 0.15);
        foreach (var time in new[] { 5.0, 20.0, 60.0 })
        {
            var mixed = GaussLegendreRule.Integrate(
                z => Math.Exp(-0.5 * z * z) / Math.Sqrt(2 * Math.PI) * new FirstPassage(10, mean + (z * deviation), 1).Cdf(time), -8, 8, 300);
            Assert.Equal(mixed, new FirstPassage(10, mean, 1, deviation * deviation).Cdf(time), 1e-9);
        }
    }

    [Fact]
    public void A_limit_that_may_never_be_reached_has_no_late_quantiles()
    {
        var passage = new FirstPassage(10, -0.1, 1);
        Assert.Equal(double.PositiveInfinity, passage.Quantile(0.9));
        Assert.Equal(Math.Exp(-2), passage.Cdf(1e9), 1e-9);
    }

    [Fact]
    public void A_distance_of_nothing_is_reached_at_once() => Assert.Equal(0, new FirstPassage(0, 1, 1).Quantile(0.5));

    [Fact]
    public void Quantile_and_distribution_belong_together() =>
        Gen.Select(Gen.Double[0.1, 1000], Gen.Double[0.01, 10], Gen.Double[1e-6, 100], Gen.Double[0.02, 0.98]).Sample((distance, drift, diffusion, p) =>
        {
            var passage = new FirstPassage(distance, drift, diffusion);
            Assert.Equal(p, passage.Cdf(passage.Quantile(p)), 1e-8);
        });

    [Fact]
    public void The_distribution_never_falls() =>
        Gen.Select(Gen.Double[0.1, 100], Gen.Double[-2, 2], Gen.Double[0, 10], Gen.Double[0, 1], Gen.Double[0.01, 500]).Sample((distance, drift, diffusion, variance, time) =>
        {
            var passage = new FirstPassage(distance, drift, diffusion, variance);
            Assert.InRange(passage.Cdf(time * 1.1) - passage.Cdf(time), -1e-12, 1);
        });
}
