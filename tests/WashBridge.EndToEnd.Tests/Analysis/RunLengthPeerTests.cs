using System.Globalization;
using WashBridge.Analysis.Statistics;
using static WashBridge.EndToEnd.Tests.Analysis.StatisticsPeer;

namespace WashBridge.EndToEnd.Tests.Analysis;

/// <summary>Average run lengths at points that nobody chose, against the R package spc.</summary>
public sealed class RunLengthPeerTests
{
    private const int Points = 60;

    [Fact]
    public async Task Cumulative_sums_agree_with_R()
    {
        var random = Seeded();
        var points = Enumerable.Range(0, Points).Select(_ => (K: Between(random, 0.1, 1.2), H: Between(random, 1, 9), Shift: Between(random, -0.5, 3))).ToArray();
        var lines = await RAsync(
            """
            suppressPackageStartupMessages(library(spc))
            p <- matrix(scan(file("stdin"), quiet = TRUE), ncol = 3, byrow = TRUE)
            for (i in seq_len(nrow(p))) cat(sprintf("%.15g %.15g", xcusum.arl(p[i, 1], p[i, 2], p[i, 3], sided = "one", r = 100),
                xcusum.arl(p[i, 1], p[i, 2], p[i, 3], sided = "two", r = 100)), "\n")
            """,
            string.Join('\n', points.Select(p => $"{Write(p.K)} {Write(p.H)} {Write(p.Shift)}")));
        foreach (var (p, line) in points.Zip(lines))
        {
            var theirs = Numbers(line);

            // Beyond a billion values their matrix has lost the digits that ours keeps.
            if (theirs[0] is > 0 and < 1e9)
            {
                Same(theirs[0], CusumRunLength.OneSided(p.K, p.H, p.Shift), $"one-sided {p}");
            }

            if (theirs[1] is > 0 and < 1e9)
            {
                Same(theirs[1], CusumRunLength.TwoSided(p.K, p.H, p.Shift), $"two-sided {p}");
            }
        }

        Assert.Equal(Points, lines.Length);
    }

    [Fact]
    public async Task Moving_averages_agree_with_R()
    {
        var random = Seeded();
        var points = Enumerable.Range(0, Points).Select(_ => (Lambda: Between(random, 0.03, 1), Limit: Between(random, 1.5, 5), Shift: Between(random, 0, 3))).ToArray();
        var lines = await RAsync(
            """
            suppressPackageStartupMessages(library(spc))
            p <- matrix(scan(file("stdin"), quiet = TRUE), ncol = 3, byrow = TRUE)
            for (i in seq_len(nrow(p))) cat(sprintf("%.15g", xewma.arl(p[i, 1], p[i, 2], p[i, 3], sided = "two", r = 120)), "\n")
            """,
            string.Join('\n', points.Select(p => $"{Write(p.Lambda)} {Write(p.Limit)} {Write(p.Shift)}")));
        foreach (var (p, line) in points.Zip(lines))
        {
            Same(Assert.Single(Numbers(line)), EwmaRunLength.TwoSided(p.Lambda, p.Limit, p.Shift), $"{p}");
        }

        Assert.Equal(Points, lines.Length);
    }

    [Fact]
    public async Task Limits_agree_with_R()
    {
        var lines = await RAsync(
            """
            suppressPackageStartupMessages(library(spc))
            for (every in c(100, 370, 5000, 1e5)) for (w in c(0.1, 0.25, 0.75))
                cat(sprintf("%.15g", c(every, w, xcusum.crit(w, every, sided = "two", r = 150), xewma.crit(w, every, sided = "two", r = 150))), "\n")
            """);
        foreach (var line in lines)
        {
            var n = Numbers(line);
            Assert.Equal(n[2], CusumRunLength.LimitTwoSided(n[1], n[0]), 1e-4);
            Assert.Equal(n[3], EwmaRunLength.LimitTwoSided(n[1], n[0]), 1e-4);
        }

        Assert.Equal(12, lines.Length);
    }

    [Fact]
    public async Task Moving_averages_of_several_figures_agree_with_R()
    {
        var random = Seeded();
        var points = Enumerable.Range(0, 20).Select(_ => (Weight: Between(random, 0.05, 0.5), Limit: Between(random, 5, 30), Dimension: random.Next(2, 15))).ToArray();
        var lines = await RAsync(
            """
            suppressPackageStartupMessages(library(spc))
            p <- matrix(scan(file("stdin"), quiet = TRUE), ncol = 3, byrow = TRUE)
            for (i in seq_len(nrow(p))) cat(sprintf("%.15g", mewma.arl(p[i, 1], p[i, 2], p[i, 3], r = 60)), "\n")
            """,
            string.Join('\n', points.Select(p => $"{Write(p.Weight)} {Write(p.Limit)} {p.Dimension}")));
        foreach (var (p, line) in points.Zip(lines))
        {
            Same(Assert.Single(Numbers(line)), MewmaRunLength.InControl(p.Weight, p.Limit, p.Dimension), $"{p}");
        }

        Assert.Equal(20, lines.Length);
    }

    private static void Same(double theirs, double ours, string what) =>
        Assert.True(Math.Abs((ours / theirs) - 1) < 1e-6, $"{what}: R has {theirs.ToString("R", CultureInfo.InvariantCulture)}, we {ours.ToString("R", CultureInfo.InvariantCulture)}");

    private static double Between(Random random, double least, double most) => least + ((most - least) * random.NextDouble());

    private static Random Seeded()
    {
        var seed = int.TryParse(Environment.GetEnvironmentVariable("WASHBRIDGE_FUZZ_SEED"), out var given) ? given : Environment.TickCount;
        TestContext.Current.TestOutputHelper?.WriteLine($"seed {seed}: repeat with WASHBRIDGE_FUZZ_SEED={seed}");
        return new Random(seed);
    }
}
