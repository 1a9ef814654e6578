using WashBridge.Core.Sampling;

namespace WashBridge.Core.Tests.Sampling;

public sealed class ProofTests
{
    [Fact]
    public void A_plan_for_a_lot() => Assert.Equal(
        "If 5 or more of the 480 kegs of the lot failed (1 % or more), a random sample of 216 kegs would show at least one failing keg with a probability of at least 95 %; so, if it shows none, that is excluded with 95 % confidence.",
        Proof.Of(ExactPlan.ForLot(480, 0.01, 0, 0.95)));

    [Fact]
    public void A_plan_for_a_process() => Assert.Equal(
        "If 5 % or more of the washer's kegs failed, a random sample of 93 kegs would show at least 2 failing kegs with a probability of at least 95 %; so, if it shows no more than 1, that is excluded with 95 % confidence.",
        Proof.Of(ExactPlan.ForProcess(0.05, 1, 0.95)));

    [Fact]
    public void A_plan_by_the_AQL() => Assert.Equal(
        "Of 50 kegs opened at random, the lot is accepted if at most 1 fails, and rejected from 2 on. A washer that fails at the AQL of 1 % has 8.94 % of its lots rejected; only one that fails at 7.56 % or more has nine lots in ten rejected.",
        Proof.Of(AttributePlan.Of(480, 1.0)));

    [Fact]
    public void A_whole_lot_is_known()
    {
        Assert.EndsWith("That is the whole lot: every failing keg is seen.", Proof.Of(AttributePlan.Of(100, 0.10)), StringComparison.Ordinal);
        Assert.Equal("3 of 48 kegs opened failed: that is the whole lot, so that exactly 3 of it failed.", Proof.Of(FailureBound.OfLot(48, 48, 3, 0.95)));
    }

    [Fact]
    public void Bounds_are_rounded_outwards()
    {
        var bound = FailureBound.OfProcess(59, 0, 0.95);
        Assert.Equal("0 of 59 kegs opened failed: with 95 % confidence no more than 4.96 % of the washer's kegs fail.", Proof.Of(bound));
        Assert.InRange(bound.UpperRate, 0.0495, 0.0496);
        Assert.Equal(("12.4 %", "12.3 %", "12.3 %"), (Proof.Ceiling(0.12341), Proof.Floor(0.12341), Proof.Nearest(0.12341)));
        Assert.Equal(("99.9878 %", "99.9876 %"), (Proof.Ceiling(0.99987654321 + 1e-6), Proof.Floor(0.99987654321)));
        Assert.Equal(("0 %", "100 %"), (Proof.Floor(0), Proof.Ceiling(1)));
    }
}
