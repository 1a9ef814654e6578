using WashBridge.Core.Sampling;

namespace WashBridge.Core.Tests.Sampling;

public sealed class ExactPlanTests
{
    /// <summary>The sample sizes that follow from Wilks (1941), Annals of Mathematical Statistics 12, 91, for 95 % confidence about 5 %: 59, 93, 124, 153, 181 (orders one to five).</summary>
    [Theory]
    [InlineData(0, 59)]
    [InlineData(1, 93)]
    [InlineData(2, 124)]
    [InlineData(3, 153)]
    [InlineData(4, 181)]
    public void Of_a_process_the_sizes_are_those_of_Wilks(int accepted, int size)
    {
        var plan = ExactPlan.ForProcess(0.05, accepted, 0.95);
        Assert.Equal(size, plan.SampleSize);
        Assert.True(plan.ConfidenceReached >= 0.95);
        Assert.Equal(1 - plan.ConfidenceReached, plan.AcceptanceProbability(0.05), 1e-12);
    }

    /// <summary>Cannon and Roe (1982), Livestock Disease Surveys, give n = (1 - risk^(1/D)) (N - (D - 1) / 2) as an approximation for none accepted.</summary>
    [Theory]
    [InlineData(100, 5)]
    [InlineData(480, 5)]
    [InlineData(500, 25)]
    [InlineData(1000, 10)]
    [InlineData(10_000, 200)]
    public void Of_a_lot_the_sizes_are_near_a_published_approximation(int lot, int failing)
    {
        var approximation = (1 - Math.Pow(0.05, 1.0 / failing)) * (lot - ((failing - 1) / 2.0));
        Assert.Equal(approximation, ExactPlan.ForLot(lot, failing, 0, 0.95).SampleSize, 1.5);
    }

    [Fact]
    public void One_keg_less_would_not_do()
    {
        foreach (var lot in new[] { 2, 7, 20, 60, 480 })
        {
            for (var accepted = 0; accepted < Math.Min(lot, 4); accepted++)
            {
                for (var failing = accepted + 1; failing <= lot; failing += 1 + (lot / 20))
                {
                    var plan = ExactPlan.ForLot(lot, failing, accepted, 0.9);
                    Assert.True(plan.AcceptanceProbability(failing) <= 0.1 + 1e-12, $"{plan}");
                    Assert.True(Tails.AtMost(accepted, plan.SampleSize - 1, failing, lot) > 0.1 + 1e-14, $"{plan}");
                }
            }
        }
    }

    /// <summary>Opening n of N finds the only failing keg with probability n / N: so the confidence is met exactly, and must not be missed by rounding.</summary>
    [Theory]
    [InlineData(10, 0.9, 9)]
    [InlineData(20, 0.95, 19)]
    [InlineData(100, 0.95, 95)]
    [InlineData(1000, 0.9, 900)]
    [InlineData(1_000_000, 0.999, 999_000)]
    public void A_confidence_that_is_met_exactly_is_met(int lot, double confidence, int size) => Assert.Equal(size, ExactPlan.ForLot(lot, 1, 0, confidence).SampleSize);

    [Fact]
    public void A_rate_stands_for_the_fewest_kegs_that_make_it_up()
    {
        Assert.Equal(5, ExactPlan.ForLot(480, 0.01, 0, 0.95).ExcludedKegs);
        Assert.Equal(7, ExactPlan.ForLot(100, 0.07, 0, 0.95).ExcludedKegs);
        Assert.Equal(1, ExactPlan.ForLot(30, 0.01, 0, 0.95).ExcludedKegs);
    }

    [Fact]
    public void A_lot_never_takes_more_than_the_process() => Assert.All(
        new[] { 100, 480, 5000, 1_000_000 },
        lot => Assert.InRange(ExactPlan.ForLot(lot, 0.02, 1, 0.95).SampleSize, 2, ExactPlan.ForProcess(0.02, 1, 0.95).SampleSize));

    [Theory]
    [InlineData(0, 1, 0, 0.95, "lot: found 0; allowed: 1 to 1,000,000")]
    [InlineData(480, 0, 0, 0.95, "failing kegs to exclude: found 0 of a lot of 480; allowed: more than the acceptance number 0, at most 480")]
    [InlineData(480, 2, 2, 0.95, "failing kegs to exclude: found 2 of a lot of 480; allowed: more than the acceptance number 2, at most 480")]
    [InlineData(480, 481, 0, 0.95, "failing kegs to exclude: found 481 of a lot of 480; allowed: more than the acceptance number 0, at most 480")]
    [InlineData(480, 5, -1, 0.95, "acceptance number: found -1; allowed: 0 to 479")]
    [InlineData(480, 5, 0, 1, "confidence: found 100 %; allowed: 50 % to 99.9999 %")]
    [InlineData(480, 5, 0, double.NaN, "confidence: found NaN %; allowed: 50 % to 99.9999 %")]
    public void What_cannot_be_is_refused(int lot, int failing, int accepted, double confidence, string message)
        => Assert.Equal(message, Assert.Throws<SamplingException>(() => ExactPlan.ForLot(lot, failing, accepted, confidence)).Message);

    [Theory]
    [InlineData(0, "rate to exclude: found 0 %; allowed: more than 0 % and less than 100 %")]
    [InlineData(1, "rate to exclude: found 100 %; allowed: more than 0 % and less than 100 %")]
    [InlineData(1e-6, "rate to exclude: found 0.0001 %, which takes more than 1,000,000 kegs; allowed: a higher rate")]
    public void Rates_that_cannot_be_are_refused(double rate, string message)
        => Assert.Equal(message, Assert.Throws<SamplingException>(() => ExactPlan.ForProcess(rate, 0, 0.95)).Message);
}
