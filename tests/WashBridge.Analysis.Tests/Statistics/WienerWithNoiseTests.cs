using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

public sealed class WienerWithNoiseTests
{
    [Fact]
    public void Drift_diffusion_and_noise_are_found_again()
    {
        // Means over 60 series of 400 values; the tolerance is about four standard errors.
        var fits = Enumerable.Range(1, 60).Select(seed => WienerWithNoise.Estimate(Times, Path(seed, 0.2, 0.3, 1.0))).ToList();
        Assert.InRange(fits.Average(f => f.Drift), 0.2 - 0.01, 0.2 + 0.01);
        Assert.InRange(fits.Average(f => f.Diffusion), 0.09 * 0.8, 0.09 * 1.2);
        Assert.InRange(fits.Average(f => f.Noise), 0.95, 1.05);
    }

    [Fact]
    public void The_drifts_uncertainty_is_as_large_as_its_error()
    {
        var scores = Enumerable.Range(1, 100)
            .Select(seed => WienerWithNoise.Estimate(Times, Path(seed, 0.2, 0.3, 1.0)))
            .Select(f => (f.Drift - 0.2) * (f.Drift - 0.2) / f.DriftVariance);
        Assert.InRange(scores.Average(), 0.65, 1.5);
    }

    [Fact]
    public void Without_noise_none_is_found()
    {
        var fit = WienerWithNoise.Estimate(Times, Path(3, 0.2, 0.3, 0));
        Assert.InRange(fit.Noise, 0, 0.02);
        Assert.Equal(Path(3, 0.2, 0.3, 0)[^1], fit.Level, 0.3);
    }

    [Fact]
    public void Times_that_do_not_rise_are_refused() =>
        Assert.Throws<ArgumentException>(() => WienerWithNoise.Estimate([1, 2, 2, 3, 4], [1, 2, 3, 4, 5]));

    private static readonly double[] Times = Enumerable.Range(0, 400).Select(i => (double)i).ToArray();

    private static double[] Path(int seed, double drift, double deviation, double noise)
    {
        var random = new Random(seed);
        var level = 0.0;
        return Times.Select(_ => (level += drift + (deviation * Normal(random))) + (noise * Normal(random))).ToArray();
    }

    private static double Normal(Random random) => MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1);
}
