using CsCheck;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

public sealed class TheilSenTests
{
    /// <summary>EPA QA/G-9S (2006): four values a unit of time apart.</summary>
    [Fact]
    public void Sens_slope_of_EPAs_example_is_reproduced() => Assert.Equal(2.916666666666667, TheilSen.Of([1, 2, 3, 4], [10, 15, 14, 20]).Slope, 1e-14);

    /// <summary>EPA QA/G-9S (2006), the example with ties.</summary>
    [Fact]
    public void Ties_do_not_disturb_the_slope() =>
        Assert.Equal(1.0, TheilSen.Of(Enumerable.Range(1, 11).Select(i => (double)i).ToArray(), [10, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15]).Slope, 1e-14);

    [Fact]
    public void A_quarter_of_wild_values_does_not_move_the_slope_far()
    {
        var x = Enumerable.Range(0, 40).Select(i => (double)i).ToArray();
        var y = x.Select(v => v % 4 == 3 ? 1e6 : (0.5 * v) + (0.1 * Math.Sin(7 * v))).ToArray();
        Assert.InRange(TheilSen.Of(x, y).Slope, 0.4, 0.75);
    }

    [Fact]
    public void The_interval_holds_the_slope() =>
        Gen.Double[-10, 10].Array[3, 40].Sample(y =>
        {
            var line = TheilSen.Of(Enumerable.Range(0, y.Length).Select(i => (double)i).ToArray(), y);
            Assert.True(line.Lower <= line.Slope && line.Slope <= line.Upper);
        });

    [Fact]
    public void No_two_different_times_give_no_slope() => Assert.Throws<ArgumentException>(() => TheilSen.Of([1, 1], [2, 3]));
}
