using System.Collections.Immutable;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Historian;
using WashBridge.Lots;

namespace WashBridge.Orders;

/// <summary>Draws of the kegs of a lot that are to be opened.</summary>
internal static partial class Telling
{
    /// <summary>Those of <see cref="Inspections"/> that need no limit.</summary>
    public static readonly ImmutableArray<string> Openings = ["spear-pull", "swab"];

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static LotSampled Draw(ToldDraw told, IHistorianReader historian, DateTimeOffset now, Teller? teller = null)
    {
        teller?.Require(Role.Operator, "recording a draw");
        var (from, until) = (TellingChecks.Time("from", told.From ?? ""), TellingChecks.Time("until", told.Until ?? ""));
        var act = TellingChecks.Act(told.By, told.Reason, now, teller);
        var name = TellingChecks.Text("lot", told.Lot, TellingChecks.LongestName, "the lot needs a name");
        RequireNew(name, historian);
        var seed = TellingChecks.Text("seed", told.Seed, TellingChecks.LongestName, "the draw needs its seed");
        var kegs = LotKegs.Read(historian, from, until, told.Washer);
        var fingerprint = kegs.Fingerprint();
        if (told.Fingerprint is { } seen && seen != fingerprint)
        {
            throw new TellingException($"fingerprint: found {TellingChecks.Found(seen)}, but the lot has {fingerprint}: other kegs were judged since. Draw again", isConflict: true);
        }

        try
        {
            var plan = Plan(told, kegs.Kegs.Count) with { Kegs = $"kegs washed from {from} until {until}{(told.Washer is { } only ? $" by {only}" : "")}" };
            var drawn = kegs.Draw(seed, plan.SampleSize);
            var washers = kegs.Kegs.Values.Select(k => k.Washer).Distinct(StringComparer.Ordinal).ToList();
            var washer = washers.Count == 1 ? washers[0] : WashEvent.WholeSite;
            var at = TellingChecks.Now(now);
            return new LotSampled
            {
                Id = $"{(washer == WashEvent.WholeSite ? "site" : washer)}/draw/{seed}/{at.Latest}",
                Washer = washer,
                At = at,
                Act = act,
                Lot = name,
                Size = kegs.Kegs.Count,
                Fingerprint = fingerprint,
                Plan = plan.Line,
                AcceptanceNumber = plan.AcceptanceNumber,
                Seed = seed,
                Drawn = [.. drawn.Select(k => k.Verdict.KegId)],
                Proof = plan.Proves,
            };
        }
        catch (SamplingException wrong)
        {
            throw new TellingException(wrong.Message);
        }
    }

    private static SamplingPlan Plan(ToldDraw told, int size)
    {
        if (size == 0)
        {
            throw new SamplingException("from, until: found no keg of this period that may be filled; allowed: a period in which kegs were judged");
        }

        var plan = new SamplingPlan { Kind = (InspectionKind)TellingChecks.OneOf("kind", told.Kind ?? Openings[0], Openings) };
        return (told.Exclude, told.Aql) switch
        {
            ({ } excluded, null) => plan with
            {
                Exact = LotPlan.Exact(excluded, told.Process ? null : size, Entry.Count("--accept", told.Accept ?? "0"), Entry.Percent("--confidence", told.Confidence ?? "95%")),
            },
            (null, { } aql) => plan with { Table = LotPlan.Tabled(aql, size, told.Level ?? "II", told.Inspection ?? "normal"), IsSteady = told.Steady },
            _ => throw new SamplingException("exclude, aql: found both or none; allowed: one of them"),
        };
    }
}
