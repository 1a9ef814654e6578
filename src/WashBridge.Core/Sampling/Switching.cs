namespace WashBridge.Core.Sampling;

/// <summary>How one lot came out on original inspection.</summary>
/// <param name="Plan">The plan it was inspected by.</param>
/// <param name="Failed">Failing kegs among those opened.</param>
/// <param name="IsProductionSteady">Whether washing ran as usual, and the responsible person agrees with reduced inspection: neither follows from numbers.</param>
public sealed record LotResult(AttributePlan Plan, int Failed, bool IsProductionSteady)
{
    public bool IsAccepted => Failed < Plan.RejectionNumber;
}

/// <summary>What the lots so far mean for the next.</summary>
/// <param name="Next">How severely the next lot is inspected.</param>
/// <param name="IsStopped">Five lots were rejected under tightened inspection: acceptance stops until the cause is removed.</param>
/// <param name="RecentlyAccepted">The last lots under normal inspection since it began, at most five, the latest last.</param>
/// <param name="AcceptedInARow">Lots accepted one after the other under tightened inspection.</param>
/// <param name="RejectedWhileTightened">Lots rejected since tightened inspection began.</param>
/// <param name="Score">Switching score of normal inspection; from 30 on reduced inspection may begin.</param>
public sealed record SwitchingState(Inspection Next, bool IsStopped, IReadOnlyList<bool> RecentlyAccepted, int AcceptedInARow, int RejectedWhileTightened, int Score)
{
    /// <summary>Inspection begins normal.</summary>
    public static SwitchingState Begin { get; } = new(Inspection.Normal, false, [], 0, 0, 0);
}

/// <summary>Switching between normal, tightened and reduced inspection: ISO 2859-1:1999, clauses 9.3 and 9.4 (clause numbers and scores: value from memory).</summary>
public static class Switching
{
    private const int RejectedWithin = 5;
    private const int AcceptedToReturn = 5;
    private const int RejectedToStop = 5;
    private const int ScoreToReduce = 30;

    /// <summary>The state after all lots, in the order in which they were inspected.</summary>
    /// <exception cref="SamplingException">A lot was inspected otherwise than those before demanded, or after acceptance stopped.</exception>
    public static SwitchingState After(IEnumerable<LotResult> lots) => lots.Aggregate(SwitchingState.Begin, Next);

    /// <exception cref="SamplingException">The lot was inspected otherwise than those before demanded, or after acceptance stopped.</exception>
    public static SwitchingState Next(SwitchingState state, LotResult lot)
    {
        if (state.IsStopped || lot.Plan.Inspection != state.Next)
        {
            throw new SamplingException($"inspection of the lot: found {lot.Plan.Inspection}; allowed: {(state.IsStopped ? "none until the cause is removed" : state.Next)}");
        }

        Entries.Within("failed", lot.Failed, 0, lot.Plan.SampleSize);
        return state.Next switch
        {
            Inspection.Normal => AfterNormal(state, lot),
            Inspection.Tightened => AfterTightened(state, lot),
            _ => lot.Failed <= lot.Plan.AcceptanceNumber && lot.IsProductionSteady ? state : SwitchingState.Begin,
        };
    }

    /// <summary>Acceptance begins again after it was stopped and the cause was removed: under tightened inspection (9.4).</summary>
    public static SwitchingState Resume(SwitchingState state) => state.IsStopped
        ? SwitchingState.Begin with { Next = Inspection.Tightened }
        : throw new SamplingException("acceptance: found going on; allowed: only after it was stopped");

    private static SwitchingState AfterNormal(SwitchingState state, LotResult lot)
    {
        bool[] recent = [.. state.RecentlyAccepted.Append(lot.IsAccepted).TakeLast(RejectedWithin)];
        if (recent.Count(accepted => !accepted) >= 2)
        {
            return SwitchingState.Begin with { Next = Inspection.Tightened };
        }

        var score = Score(state.Score, lot);
        return score >= ScoreToReduce && lot.IsProductionSteady
            ? SwitchingState.Begin with { Next = Inspection.Reduced }
            : state with { RecentlyAccepted = recent, Score = score };
    }

    /// <summary>9.3.3.2: 3 for a lot that even the next smaller AQL would have accepted, 2 where the acceptance number is 0 or 1; anything else begins anew.</summary>
    private static int Score(int score, LotResult lot) => lot.Plan.AcceptanceNumber switch
    {
        0 or 1 => lot.IsAccepted ? score + 2 : 0,
        _ => lot.Plan.AcceptanceNumberOneStepTighter() is { } tighter && lot.Failed <= tighter ? score + 3 : 0,
    };

    private static SwitchingState AfterTightened(SwitchingState state, LotResult lot)
    {
        if (lot.IsAccepted)
        {
            return state.AcceptedInARow + 1 == AcceptedToReturn ? SwitchingState.Begin : state with { AcceptedInARow = state.AcceptedInARow + 1 };
        }

        var rejected = state.RejectedWhileTightened + 1;
        return state with { AcceptedInARow = 0, RejectedWhileTightened = rejected, IsStopped = rejected == RejectedToStop };
    }
}
