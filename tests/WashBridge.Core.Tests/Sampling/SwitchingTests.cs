using WashBridge.Core.Sampling;

namespace WashBridge.Core.Tests.Sampling;

public sealed class SwitchingTests
{
    private const double Aql = 2.5;
    private const int Lot = 480;

    [Fact]
    public void Inspection_begins_normal() => Assert.Equal(Inspection.Normal, Switching.After([]).Next);

    [Theory]
    [InlineData("xx", Inspection.Tightened)]
    [InlineData("x...x", Inspection.Tightened)]
    [InlineData("x....x", Inspection.Normal)]
    [InlineData("..x..", Inspection.Normal)]
    public void Two_rejected_of_five_in_a_row_tighten(string lots, Inspection next) => Assert.Equal(next, Fold(lots).Next);

    [Theory]
    [InlineData("xx.....", Inspection.Normal)]
    [InlineData("xx....", Inspection.Tightened)]
    [InlineData("xx....x....", Inspection.Tightened)]
    [InlineData("xx....x.....", Inspection.Normal)]
    public void Five_accepted_in_a_row_end_tightened_inspection(string lots, Inspection next) => Assert.Equal(next, Fold(lots).Next);

    [Fact]
    public void What_was_before_tightened_inspection_is_forgotten() => Assert.Equal(Inspection.Normal, Fold("xx.....x").Next);

    [Fact]
    public void Five_rejected_under_tightened_inspection_stop_acceptance()
    {
        Assert.False(Fold("xx.x.x.x.x").IsStopped);
        var stopped = Fold("xx.x.x.x.x..x");
        Assert.True(stopped.IsStopped);
        Assert.Equal(
            "inspection of the lot: found Tightened; allowed: none until the cause is removed",
            Assert.Throws<SamplingException>(() => Switching.Next(stopped, Result(Inspection.Tightened, 0))).Message);
        var resumed = Switching.Resume(stopped);
        Assert.Equal((Inspection.Tightened, false), (resumed.Next, resumed.IsStopped));
        Assert.Throws<SamplingException>(() => Switching.Resume(resumed));
    }

    /// <summary>n = 50, Ac = 3: 3 points for at most 2 failing kegs, so that ten lots reach 30.</summary>
    [Fact]
    public void Ten_good_lots_reduce()
    {
        Assert.Equal(3, AttributePlan.Of(Lot, Aql).AcceptanceNumber);
        Assert.Equal((Inspection.Normal, 27), (Fold(".........").Next, Fold(".........").Score));
        Assert.Equal(Inspection.Reduced, Fold("..........").Next);

        // Accepted, but not by the next smaller AQL: begins anew.
        Assert.Equal(0, Fold(".........3").Score);
        Assert.Equal(Inspection.Normal, Fold(".........3.........").Next);
        Assert.Equal(Inspection.Reduced, Fold(".........3..........").Next);
    }

    [Fact]
    public void With_small_acceptance_numbers_it_takes_fifteen()
    {
        var lot = new LotResult(AttributePlan.Of(Lot, 1.0), 1, true);
        Assert.Equal(1, lot.Plan.AcceptanceNumber);
        Assert.Equal((Inspection.Normal, 28), (Switching.After(Enumerable.Repeat(lot, 14)).Next, Switching.After(Enumerable.Repeat(lot, 14)).Score));
        Assert.Equal(Inspection.Reduced, Switching.After(Enumerable.Repeat(lot, 15)).Next);
    }

    [Fact]
    public void Reduced_inspection_needs_steady_washing()
    {
        var steady = Result(Inspection.Normal, 0);
        var unsteady = steady with { IsProductionSteady = false };
        var waiting = Switching.After(Enumerable.Repeat(unsteady, 12));
        Assert.Equal(Inspection.Normal, waiting.Next);
        Assert.Equal(Inspection.Reduced, Switching.Next(waiting, steady).Next);
    }

    [Fact]
    public void Reduced_inspection_ends_with_a_doubtful_lot_or_unsteady_washing()
    {
        var reduced = Fold("..........");
        var plan = AttributePlan.Of(Lot, Aql, inspection: Inspection.Reduced);
        Assert.Equal((1, 4), (plan.AcceptanceNumber, plan.RejectionNumber));
        Assert.Equal(Inspection.Reduced, Switching.Next(reduced, new(plan, 1, true)).Next);
        Assert.Equal(Inspection.Normal, Switching.Next(reduced, new(plan, 2, true)).Next);
        Assert.True(new LotResult(plan, 3, true).IsAccepted);
        Assert.False(new LotResult(plan, 4, true).IsAccepted);
        Assert.Equal(Inspection.Normal, Switching.Next(reduced, new(plan, 0, false)).Next);
    }

    [Fact]
    public void A_lot_that_was_inspected_otherwise_is_refused()
    {
        Assert.Equal("inspection of the lot: found Reduced; allowed: Normal", Assert.Throws<SamplingException>(() => Switching.Next(SwitchingState.Begin, Result(Inspection.Reduced, 0))).Message);
        Assert.Equal("failed: found 51; allowed: 0 to 50", Assert.Throws<SamplingException>(() => Switching.Next(SwitchingState.Begin, Result(Inspection.Normal, 51))).Message);
    }

    /// <summary>A dot is a lot without a failing keg, x a rejected one, a digit so many failing kegs; each is inspected as those before demand.</summary>
    private static SwitchingState Fold(string lots) => lots.Aggregate(SwitchingState.Begin, (state, c) => Switching.Next(state, Result(state.Next, c switch { '.' => 0, 'x' => null, _ => c - '0' })));

    private static LotResult Result(Inspection inspection, int? failed)
    {
        var plan = AttributePlan.Of(Lot, Aql, inspection: inspection);
        return new(plan, failed ?? plan.RejectionNumber, true);
    }
}
