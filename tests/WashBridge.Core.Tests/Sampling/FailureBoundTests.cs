using WashBridge.Core.Sampling;

namespace WashBridge.Core.Tests.Sampling;

public sealed class FailureBoundTests
{
    [Theory]
    [InlineData(1, 0.95)]
    [InlineData(59, 0.95)]
    [InlineData(1000, 0.99)]
    [InlineData(1_000_000, 0.9)]
    public void Without_failures_the_bound_has_a_closed_form(int opened, double confidence)
    {
        var bound = FailureBound.OfProcess(opened, 0, confidence);
        Assert.Equal(1, bound.UpperRate / -ExpM1(Math.Log(1 - confidence) / opened), 1e-10);
        Assert.Equal(0, bound.LowerRate);
    }

    /// <summary>Plan and bound are one statement: as many failures as are let pass just exclude what the plan excludes.</summary>
    [Fact]
    public void What_a_plan_promises_the_bound_keeps()
    {
        foreach (var accepted in new[] { 0, 1, 3 })
        {
            var process = ExactPlan.ForProcess(0.02, accepted, 0.95);
            Assert.True(FailureBound.OfProcess(process.SampleSize, accepted, 0.95).UpperRate <= 0.02);
            Assert.True(FailureBound.OfProcess(process.SampleSize - 1, accepted, 0.95).UpperRate > 0.02);
            var lot = ExactPlan.ForLot(480, 10, accepted, 0.95);
            Assert.True(FailureBound.OfLot(480, lot.SampleSize, accepted, 0.95).UpperKegs < 10);
            Assert.True(FailureBound.OfLot(480, lot.SampleSize - 1, accepted, 0.95).UpperKegs >= 10);
        }
    }

    /// <summary>The definition of confidence, by every sample that a lot can give.</summary>
    [Theory]
    [InlineData(0.9)]
    [InlineData(0.95)]
    public void The_bounds_of_a_lot_hold_as_often_as_they_claim(double confidence)
    {
        const int Lot = 60;
        foreach (var opened in new[] { 1, 7, 30, 59, 60 })
        {
            var bounds = Enumerable.Range(0, opened + 1).Select(x => (One: FailureBound.OfLot(Lot, opened, x, confidence), Two: FailureBound.OfLot(Lot, opened, x, confidence, isTwoSided: true))).ToArray();
            for (var failing = 0; failing <= Lot; failing++)
            {
                var (one, two) = (0.0, 0.0);
                for (var x = Math.Max(0, opened - (Lot - failing)); x <= Math.Min(opened, failing); x++)
                {
                    var probability = Tails.AtMost(x, opened, failing, Lot) - Tails.AtMost(x - 1, opened, failing, Lot);
                    one += failing <= bounds[x].One.UpperKegs ? probability : 0;
                    two += failing >= bounds[x].Two.LowerKegs && failing <= bounds[x].Two.UpperKegs ? probability : 0;
                }

                Assert.True(one >= confidence - 1e-9 && two >= confidence - 1e-9, $"{failing} failing, {opened} opened: {one}, {two}");
            }
        }
    }

    [Fact]
    public void A_lot_opened_whole_is_known()
    {
        var bound = FailureBound.OfLot(48, 48, 3, 0.95, isTwoSided: true);
        Assert.Equal((3, 3), (bound.LowerKegs!.Value, bound.UpperKegs!.Value));
        Assert.Equal(3.0 / 48, bound.UpperRate);
    }

    [Fact]
    public void What_was_seen_is_inside_and_more_failures_raise_the_bounds()
    {
        var last = FailureBound.OfLot(480, 50, 0, 0.95, isTwoSided: true);
        for (var failed = 1; failed <= 50; failed++)
        {
            var next = FailureBound.OfLot(480, 50, failed, 0.95, isTwoSided: true);
            Assert.True(next.LowerKegs >= failed && next.UpperKegs <= 430 + failed);
            Assert.True(next.UpperKegs > last.UpperKegs && next.LowerKegs > last.LowerKegs);
            last = next;
        }
    }

    [Fact]
    public void A_process_that_failed_always_has_no_upper_bound_below_all() => Assert.Equal(1, FailureBound.OfProcess(5, 5, 0.95).UpperRate);

    [Theory]
    [InlineData(0, 0, "opened: found 0; allowed: 1 to 480")]
    [InlineData(481, 0, "opened: found 481; allowed: 1 to 480")]
    [InlineData(50, 51, "failed: found 51; allowed: 0 to 50")]
    [InlineData(50, -1, "failed: found -1; allowed: 0 to 50")]
    public void What_cannot_be_is_refused(int opened, int failed, string message)
        => Assert.Equal(message, Assert.Throws<SamplingException>(() => FailureBound.OfLot(480, opened, failed, 0.95)).Message);

    private static double ExpM1(double x) => Math.Abs(x) > 1e-3 ? Math.Exp(x) - 1 : x * (1 + (x / 2 * (1 + (x / 3 * (1 + (x / 4 * (1 + (x / 5))))))));
}
