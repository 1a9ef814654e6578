using WashBridge.Core.Records;
using WashBridge.Core.Sampling;

namespace WashBridge.Lots;

/// <summary>How a lot stands by its plan.</summary>
public enum LotOutcome
{
    /// <summary>Not all kegs of the sample are opened, and it is not rejected yet.</summary>
    Open = 0,
    Accepted = 1,

    /// <summary>Under reduced inspection: accepted, but the next lot is inspected normally.</summary>
    AcceptedEndsReduced = 2,
    Rejected = 3,
}

/// <summary>A lot that was drawn from, with what was found in its sample so far.</summary>
/// <param name="Draw">The draw.</param>
/// <param name="Plan">By which it was drawn; null: not readable, and only the numbers of the draw count.</param>
/// <param name="Results">By keg, the last word on each; kegs that are not opened yet are missing.</param>
/// <param name="EarlierDraws">Draws before it from exactly the same kegs: who draws anew until the sample pleases has not drawn at random.</param>
internal sealed record LotStanding(LotSampled Draw, SamplingPlan? Plan, IReadOnlyDictionary<string, KegInspected> Results, int EarlierDraws)
{
    public const double Confidence = 0.95;

    public int Opened => Results.Count;

    public int Failed => Results.Values.Count(r => !r.Passed);

    private int RejectionNumber => Plan?.RejectionNumber ?? Draw.AcceptanceNumber + 1;

    public LotOutcome Outcome => (Opened, Failed) switch
    {
        var (_, failed) when failed >= RejectionNumber => LotOutcome.Rejected,
        var (opened, _) when opened < Draw.Drawn.Count => LotOutcome.Open,
        var (_, failed) when failed > Draw.AcceptanceNumber => LotOutcome.AcceptedEndsReduced,
        _ => LotOutcome.Accepted,
    };

    /// <summary>What the results so far say of the lot; null: none yet.</summary>
    public FailureBound? Bound => Opened == 0 ? null : FailureBound.OfLot(Draw.Size, Opened, Failed, Confidence);

    /// <summary>A bound needs a random sample: kegs opened out of the order in which they were drawn are a choice.</summary>
    public bool IsInOrder => Draw.Drawn.Take(Opened).All(Results.ContainsKey);

    /// <summary>The kegs that are still to be opened, as drawn.</summary>
    public IEnumerable<string> ToOpen => Draw.Drawn.Where(k => !Results.ContainsKey(k));

    /// <param name="draws">In the order of the log.</param>
    /// <param name="inspections">As corrected, in the order of the log.</param>
    public static IReadOnlyList<LotStanding> Of(IReadOnlyList<LotSampled> draws, IReadOnlyList<KegInspected> inspections)
    {
        var byLot = inspections.Where(i => i.Lot is not null).ToLookup(i => i.Lot!, StringComparer.Ordinal);
        return
        [
            .. draws.Select((draw, n) => new LotStanding(
                draw,
                SamplingPlan.Of(draw),
                byLot[draw.Lot].Where(i => draw.Drawn.Contains(i.KegId)).GroupBy(i => i.KegId).ToDictionary(g => g.Key, g => g.Last(), StringComparer.Ordinal),
                draws.Take(n).Count(d => d.Fingerprint == draw.Fingerprint))),
        ];
    }
}

/// <summary>What the lots of a washer so far mean for the next by one plan of the tables.</summary>
/// <param name="State">After all lots that count.</param>
/// <param name="Lots">Lots that counted.</param>
/// <param name="Problems">Lots that did not, by name, and why.</param>
internal sealed record LotSwitching(SwitchingState State, int Lots, IReadOnlyList<(string Lot, string Problem)> Problems)
{
    /// <param name="lots">All lots, in the order in which they were drawn.</param>
    public static LotSwitching Of(IEnumerable<LotStanding> lots, string washer, InspectionKind kind, double aql, InspectionLevel level)
    {
        var (state, count, problems) = (SwitchingState.Begin, 0, new List<(string, string)>());
        foreach (var lot in lots.Where(l => l.Draw.Washer == washer && l.Outcome != LotOutcome.Open && l.EarlierDraws == 0 && l.Plan is { Table: { } table } plan && plan.Kind == kind && table.Aql == aql && table.Level == level))
        {
            try
            {
                state = Switching.Next(state, new LotResult(lot.Plan!.Table!, lot.Failed, lot.Plan.IsSteady));
                count++;
            }
            catch (SamplingException wrong)
            {
                problems.Add((lot.Draw.Lot, wrong.Message));
            }
        }

        return new LotSwitching(state, count, problems);
    }
}
