using WashBridge.Analysis.Statistics;

namespace WashBridge.EndToEnd.Tests.Analysis;

/// <summary>Trends, first passages and lives against scipy and R's survival package, on random data.</summary>
public sealed class TrendAndLifePeerTests
{
    [Fact]
    public async Task First_passages_are_those_of_scipy()
    {
        var random = new Random(11);
        var cases = Enumerable.Range(0, 300).Select(_ => (
            Passage: new FirstPassage(Math.Exp((6 * random.NextDouble()) - 2), Math.Exp((4 * random.NextDouble()) - 3), Math.Exp((8 * random.NextDouble()) - 5)),
            Time: random.NextDouble() * 3, Probability: 0.02 + (0.96 * random.NextDouble()))).ToList();
        var lines = await StatisticsPeer.PythonAsync(
            """
            import sys
            from scipy import stats
            for line in sys.stdin:
                mean, shape, time, p = map(float, line.split())
                d = stats.invgauss(mean / shape, scale=shape)
                print(repr(float(d.cdf(time))), repr(float(d.pdf(time))), repr(float(d.ppf(p))))
            """,
            string.Join('\n', cases.Select(c => string.Join(' ', new[]
            {
                c.Passage.Mean, c.Passage.Distance * c.Passage.Distance / c.Passage.Diffusion, c.Time * c.Passage.Mean, c.Probability,
            }.Select(StatisticsPeer.Write)))));
        Assert.Equal(cases.Count, lines.Length);
        foreach (var ((passage, time, probability), line) in cases.Zip(lines))
        {
            var theirs = StatisticsPeer.Numbers(line);
            Close(theirs[0], passage.Cdf(time * passage.Mean), 1e-9, 1e-12);
            Close(theirs[1], passage.Pdf(time * passage.Mean), 1e-9, 1e-12);
            Close(theirs[2], passage.Quantile(probability), 1e-6, 0);
        }
    }

    [Fact]
    public async Task Slopes_and_trend_tests_are_those_of_scipy()
    {
        var random = new Random(12);

        // A third of the series is rounded, so that it has ties.
        var series = Enumerable.Range(0, 60).Select(k => Enumerable.Range(0, 5 + (k % 50))
            .Select(i => k % 3 == 0 ? Math.Round((0.05 * i) + random.NextDouble()) : (0.05 * i) + random.NextDouble()).ToArray()).ToList();
        var lines = await StatisticsPeer.PythonAsync(
            """
            import sys
            import numpy as np
            from scipy import stats
            for line in sys.stdin:
                y = np.array(list(map(float, line.split())))
                x = np.arange(len(y), dtype=float)
                slope, intercept, low, high = stats.theilslopes(y, x, 0.9)
                tied = len(set(y)) < len(y)
                tau = stats.kendalltau(x, y, method='asymptotic' if tied or len(y) > 33 else 'exact')
                print(*map(lambda v: repr(float(v)), (slope, intercept, low, high, tau.pvalue, tied)))
            """,
            string.Join('\n', series.Select(s => string.Join(' ', s.Select(StatisticsPeer.Write)))));
        Assert.Equal(series.Count, lines.Length);
        foreach (var (y, line) in series.Zip(lines))
        {
            var theirs = StatisticsPeer.Numbers(line.Replace("True", "1").Replace("False", "0"));
            var ours = TheilSen.Of(Enumerable.Range(0, y.Length).Select(i => (double)i).ToArray(), y, 0.9);
            Close(theirs[0], ours.Slope, 1e-12, 1e-12);
            Close(theirs[1], ours.Intercept, 1e-12, 1e-12);
            Close(theirs[2], ours.Lower, 1e-12, 1e-12);
            Close(theirs[3], ours.Upper, 1e-12, 1e-12);
            if (theirs[5] == 0 && y.Length <= 33)
            {
                var test = MannKendall.Of(y);
                Close(theirs[4], Math.Min(1, 2 * Math.Min(test.RisingProbability, test.FallingProbability)), 1e-9, 1e-12);
            }
            else if (theirs[5] == 1)
            {
                // scipy's tie-corrected p-value is without continuity correction: compared by the variance.
                var test = MannKendall.Of(y);
                Close(theirs[4], 2 * MathNet.Numerics.Distributions.Normal.CDF(0, 1, -Math.Abs(test.S) / Math.Sqrt(test.Variance)), 1e-7, 1e-12);
            }
        }
    }

    [Fact]
    public async Task Weibull_fits_are_those_of_survreg()
    {
        var random = new Random(13);
        var samples = Enumerable.Range(0, 40).Select(k =>
        {
            var truth = new Weibull(0.7 + (3 * random.NextDouble()), Math.Exp(4 + (6 * random.NextDouble())));
            var end = truth.Quantile(0.3 + (0.6 * random.NextDouble()));
            return Enumerable.Range(0, 10 + k).Select(_ => truth.Quantile(random.NextDouble())).Select(l => new Lifetime(Math.Min(l, end), l < end)).ToList();
        }).Where(s => s.Count(l => l.Failed) >= 3).ToList();
        var lines = await StatisticsPeer.RAsync(
            """
            suppressPackageStartupMessages(library(survival))
            for (line in readLines(file("stdin"))) {
              v <- as.numeric(strsplit(line, " ")[[1]])
              time <- v[seq(1, length(v), 2)]; failed <- v[seq(2, length(v), 2)]
              f <- survreg(Surv(time, failed) ~ 1, dist = "weibull", control = survreg.control(rel.tolerance = 1e-13, maxiter = 200))
              cat(sprintf("%.17g", c(1 / f$scale, exp(coef(f)), f$loglik[2], predict(f, type = "quantile", p = 0.1)[1])), "\n")
            }
            """,
            string.Join('\n', samples.Select(s => string.Join(' ', s.Select(l => $"{StatisticsPeer.Write(l.Use)} {(l.Failed ? 1 : 0)}")))));
        Assert.Equal(samples.Count, lines.Length);
        foreach (var (sample, line) in samples.Zip(lines))
        {
            var theirs = StatisticsPeer.Numbers(line);
            var ours = WeibullFit.Of(sample)!;
            Close(theirs[0], ours.Best.Shape, 1e-5, 0);
            Close(theirs[1], ours.Best.Scale, 1e-5, 0);
            Close(theirs[2], ours.LogLikelihood, 1e-9, 0);
            Close(theirs[3], ours.B10, 1e-5, 0);
        }
    }

    private static void Close(double theirs, double ours, double relative, double absolute) =>
        Assert.True(Math.Abs(theirs - ours) <= absolute + (relative * Math.Abs(theirs)), $"theirs {theirs:R}, ours {ours:R}");
}
