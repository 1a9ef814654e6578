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
        "Of 50 kegs opened at random, the lot is accepted if at most 1 fails, and rejected from 2 on. A washer that fails at the AQL of 1 % has 8.9 % of its lots rejected; only one that fails at 7.56 % or more has nine lots in ten rejected.",
        Proof.Of(AttributePlan.Of(480, 1.0)));

    [Fact]
    public void A_plan_that_lets_nothing_pass() => Assert.StartsWith("Of 20 kegs opened at random, the lot is accepted if none fails, and rejected from 1 on.", Proof.Of(AttributePlan.Of(200, 0.65)), StringComparison.Ordinal);

    [Fact]
    public void Reduced_inspection_has_a_gap() => Assert.StartsWith(
        "Of 20 kegs opened at random, the lot is accepted below 4 failing kegs and rejected from there on; more than 1 end reduced inspection.",
        Proof.Of(AttributePlan.Of(480, 2.5, inspection: Inspection.Reduced)),
        StringComparison.Ordinal);

    [Theory]
    [InlineData(0, "0.0 %")]
    [InlineData(1e-9, "below 0.1 %")]
    [InlineData(0.0894, "8.9 %")]
    [InlineData(0.9999, "above 99.9 %")]
    [InlineData(1, "100.0 %")]
    public void What_is_not_certain_is_not_shown_as_if_it_were(double probability, string shown) => Assert.Equal(shown, Proof.Chance(probability));

    [Fact]
    public void A_bound_on_a_lot_counts_kegs()
    {
        Assert.Equal(
            "1 of 216 kegs opened failed: with 95 % confidence no more than 8 of the 480 kegs of the lot fail (1.67 %, those opened included).",
            Proof.Of(FailureBound.OfLot(480, 216, 1, 0.95)));
        Assert.Equal(
            "5 of 50 kegs opened failed: with 95 % confidence between 18 and 101 of the 480 kegs of the lot fail (3.75 % to 21.1 %, those opened included).",
            Proof.Of(FailureBound.OfLot(480, 50, 5, 0.95, isTwoSided: true)));
        Assert.Equal("0 of 59 kegs opened failed: with 95 % confidence between 0 % and 6.07 % of the washer's kegs fail.", Proof.Of(FailureBound.OfProcess(59, 0, 0.95, isTwoSided: true)));
    }

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
