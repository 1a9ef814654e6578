using System.Collections.Immutable;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;

namespace WashBridge.Orders;

/// <summary>Decisions about kegs and what was found in them.</summary>
internal static partial class Telling
{
    public static readonly ImmutableArray<string> Decisions = ["hold", "release", "rewash"];
    public static readonly ImmutableArray<string> Inspections = ["spear-pull", "swab", "titration"];
    public static readonly ImmutableArray<string> Results = ["passed", "failed"];

    public static KegFile File(IHistorianReader historian, string kegId) => KegFile.Of(kegId, historian.ReadKeg(kegId));

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static KegDecided Decision(ToldDecision told, IHistorianReader historian, DateTimeOffset now, Teller? teller = null)
    {
        var keg = File(historian, TellingChecks.KegId(told.Keg));
        var decision = (KegDecision)TellingChecks.OneOf("decision", told.Decision, Decisions);
        var act = TellingChecks.Act(told.By, told.Reason, now, teller);
        var judged = keg.LastWash?.Judged;
        if (told.Verdict is { } seen && seen != judged?.Id)
        {
            throw new TellingException($"verdict: found {TellingChecks.Found(seen)}, but the last one of {keg.KegId} is {TellingChecks.Found(judged?.Id)}: it was washed or judged again. Look at it again", isConflict: true);
        }

        if (ReleaseRules.Problem(keg, decision, teller?.Role, act.Reason) is { } problem)
        {
            throw new TellingException(problem.Text, isConflict: problem.Obstacle == ReleaseObstacle.Standing, isForbidden: problem.Obstacle == ReleaseObstacle.Role);
        }

        var at = TellingChecks.Now(now);
        return new KegDecided
        {
            Id = $"{judged?.Washer ?? "site"}/decision/{keg.KegId}/{told.Decision}/{at.Latest}",
            Washer = judged?.Washer ?? WashEvent.WholeSite,
            At = at,
            CycleId = judged?.Verdict.CycleId,
            Act = act,
            KegId = keg.KegId,
            Station = judged?.Verdict.Station ?? 0,
            Decision = decision,
            Was = keg.Decision?.Decision,
            VerdictId = judged?.Id,
            Verdict = judged?.Verdict.Verdict,
        };
    }

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static KegInspected Inspection(ToldInspection told, IHistorianReader historian, DateTimeOffset now, Teller? teller = null)
    {
        var keg = File(historian, TellingChecks.KegId(told.Keg));
        if (keg.Entries.Count == 0)
        {
            throw new TellingException($"keg: found '{keg.KegId}', of which nothing was ever scanned, washed or recorded; allowed: a keg that is known");
        }

        teller?.Require(Role.Operator, "recording an inspection");
        var at = TellingChecks.At(told.At, now);
        var kind = TellingChecks.OneOf("kind", told.Kind, Inspections);
        var judged = keg.Washes.LastOrDefault(w => w.Judged.At.Earliest <= at.Latest)?.Judged;
        var (value, unit) = Measured(told);
        return new KegInspected
        {
            Id = $"{judged?.Washer ?? "site"}/inspection/{keg.KegId}/{told.Kind}/{at.Latest}",
            Washer = judged?.Washer ?? WashEvent.WholeSite,
            At = at,
            CycleId = judged?.Verdict.CycleId,
            Act = TellingChecks.Act(told.By, told.Reason, now, teller),
            KegId = keg.KegId,
            Lot = string.IsNullOrWhiteSpace(told.Lot) ? null : TellingChecks.Text("lot", told.Lot, TellingChecks.LongestName, "the lot's name is one line"),
            Inspection = (InspectionKind)kind,
            Passed = TellingChecks.OneOf("result", told.Result, Results) == 0,
            Found = TellingChecks.Text("found", told.Found, TellingChecks.LongestNote, "what was found must be told"),
            Value = value,
            Unit = unit,
        };
    }

    private static (double? Value, string? Unit) Measured(ToldInspection told) => (told.Value, string.IsNullOrWhiteSpace(told.Unit)) switch
    {
        (null, true) => (null, null),
        (null, false) => throw new TellingException($"value: found nothing beside the unit {TellingChecks.Found(told.Unit)}; allowed: both or none"),
        ({ } value, false) when double.IsFinite(value) => (value, TellingChecks.Text("unit", told.Unit, TellingChecks.LongestName, "the unit of the value is needed")),
        ({ } value, true) when double.IsFinite(value) => throw new TellingException("unit: found nothing beside a value; allowed: a unit such as {RLU} or 1/cm2"),
        _ => throw new TellingException("value: found no finite number; allowed: a number"),
    };
}
