namespace WashBridge.EndToEnd.Tests.Analysis;

public sealed class StatisticsPeerTests
{
    [Fact]
    public async Task R_has_the_packages_and_reads_what_it_is_given()
    {
        var lines = await StatisticsPeer.RAsync(
            """
            suppressPackageStartupMessages({ library(spc); library(survival) })
            x <- scan(file("stdin"), quiet = TRUE)
            cat(sprintf("%.17g", c(sum(x), xcusum.arl(0.5, 4, 0, sided = "two"), 1 / 0)), "\n")
            """,
            $"{StatisticsPeer.Write(0.1)} {StatisticsPeer.Write(1e-300)} 2");

        // 168 is printed by Lucas and Crosier (1982).
        var numbers = StatisticsPeer.Numbers(Assert.Single(lines));
        Assert.Equal(2.1, numbers[0]);
        Assert.Equal(168, numbers[1], 0.5);
        Assert.Equal(double.PositiveInfinity, numbers[2]);
    }

    [Fact]
    public async Task Python_has_scipy_and_reads_what_it_is_given()
    {
        var lines = await StatisticsPeer.PythonAsync(
            """
            import sys
            from scipy import stats
            print(*[repr(float(stats.norm.cdf(float(word)))) for word in sys.stdin.read().split()])
            """,
            "0 1.959963984540054");
        Assert.Equal([0.5, 0.975], StatisticsPeer.Numbers(Assert.Single(lines)).Select(n => Math.Round(n, 12)));
    }

    [Fact]
    public async Task A_script_that_fails_is_told_with_its_message()
    {
        var error = await Assert.ThrowsAsync<InvalidOperationException>(() => StatisticsPeer.RAsync("stop('no such chart')"));
        Assert.Contains("no such chart", error.Message, StringComparison.Ordinal);
    }
}
