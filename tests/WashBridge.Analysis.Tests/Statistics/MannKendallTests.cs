using CsCheck;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

public sealed class MannKendallTests
{
    /// <summary>EPA QA/G-9S (2006), section 4.3: data with ties; Z recomputed from S and its variance.</summary>
    [Fact]
    public void The_example_with_ties_of_EPA_is_reproduced()
    {
        var test = MannKendall.Of([10, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15]);
        Assert.Equal(22, test.S);
        Assert.Equal(155.33, test.Variance, 0.005);
        Assert.Equal(1.6849497897538122, test.Z, 1e-12);
    }

    [Fact]
    public void S_of_EPAs_small_example_is_reproduced() => Assert.Equal(-5, MannKendall.Of([100, 50, 85, 75, 50]).S);

    /// <summary>EPA QA/G-9S: S = 6 of 5 values, 14 of 120 orders reach it.</summary>
    [Fact]
    public void A_short_series_is_judged_exactly()
    {
        var test = MannKendall.Of([5, 6, 11, 8, 10]);
        Assert.Equal(6, test.S);
        Assert.Equal(14 / 120.0, test.RisingProbability, 1e-15);
    }

    [Fact]
    public void Exact_probabilities_are_those_of_counting_all_orders()
    {
        double[] values = [3, 1, 4, 2, 6, 5];
        var s = MannKendall.Of(values).S;
        var orders = Orders([1, 2, 3, 4, 5, 6]).Select(o => MannKendall.Of(o).S).ToList();
        Assert.Equal(720, orders.Count);
        Assert.Equal(orders.Count(o => o >= s) / 720.0, MannKendall.Of(values).RisingProbability, 1e-14);
        Assert.Equal(orders.Count(o => o <= s) / 720.0, MannKendall.Of(values).FallingProbability, 1e-14);
    }

    [Fact]
    public void Turning_time_round_turns_the_answer_round() =>
        Gen.Double[-10, 10].Array[3, 60].Sample(values =>
        {
            var (there, back) = (MannKendall.Of(values), MannKendall.Of(values.Reverse().ToArray()));
            Assert.Equal(there.S, -back.S);
            Assert.Equal(there.RisingProbability, back.FallingProbability, 1e-12);
        });

    [Fact]
    public void Values_that_are_all_equal_show_no_trend()
    {
        var test = MannKendall.Of([2, 2, 2, 2]);
        Assert.Equal((0, 0.0, 1.0), (test.S, test.Z, test.RisingProbability));
    }

    [Fact]
    public void Two_values_are_too_few() => Assert.Throws<ArgumentException>(() => MannKendall.Of([1, 2]));

    private static IEnumerable<double[]> Orders(double[] values) => values.Length <= 1
        ? [values]
        : values.SelectMany(v => Orders(values.Where(w => w != v).ToArray()).Select(rest => (double[])[v, .. rest]));
}
