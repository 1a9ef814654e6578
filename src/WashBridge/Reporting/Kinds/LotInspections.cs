using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>Kegs of a lot that somebody looked into, the draws that named them, and what that says of the rest.</summary>
internal static class LotInspections
{
    private const double Confidence = 0.95;

    public static List<Block> Of(ReportContext context, List<KegJudged> lot)
    {
        var from = lot.Min(k => k.At.Earliest);
        var (drawn, looked) = (context.Read(null, from, new Instant(long.MaxValue), "lot-sampled"), context.Read(null, from, new Instant(long.MaxValue), "keg-inspected", "record-corrected"));
        var population = lot.Where(k => k.Verdict.Verdict != Verdict.NotMet).ToDictionary(k => k.Verdict.KegId, StringComparer.Ordinal);
        var fingerprint = LotReport.Fingerprint(lot);
        var draws = drawn.Of<LotSampled>().Where(d => d.Fingerprint == fingerprint).ToList();

        // Only of kegs that anybody looked into, or said so by mistake: their files have the corrections.
        var asked = looked.Of<WashEvent>().OfType<IAboutKegs>().SelectMany(a => a.Kegs).Where(population.ContainsKey).Distinct().Order(StringComparer.Ordinal).ToList();
        var inspections = asked.SelectMany(id => context.Keg(id).Washes.Where(w => w.CycleId == population[id].Verdict.CycleId).SelectMany(w => w.Inspections)).ToList();
        if (inspections.Count == 0 && draws.Count == 0)
        {
            return [new Paragraph("Nobody drew kegs of this lot, and nobody looked into one after its washing. So nothing is known of how clean they are inside, beyond what the washer's signals tell.")];
        }

        var trace = (looked with { Until = null }).Trace("inspections and corrections, to the end of the log");
        var blocks = new List<Block>
        {
            new Table("draws", ["lot", "drawn on", "kegs drawn", "plan", "failing kegs allowed", "seed", "what it proves if the lot passes"],
            [
                .. draws.Select(d => (IReadOnlyList<Cell>)
                [
                    d.Lot, d.At.Latest, new NumberCell(d.Drawn.Count, "") { Traces = [Draws(drawn)] }, d.Plan, new NumberCell(d.AcceptanceNumber, "") { Traces = [Draws(drawn)] }, d.Seed, d.Proof,
                ]),
            ])
            {
                Empty = "No draw of exactly this lot was recorded.",
            },
            new Table("inspections", ["keg", "when", "how", "result", "found", "measured", "drawn", "by"],
            [
                .. inspections.OrderBy(i => i.At.Latest).Select(i => (IReadOnlyList<Cell>)
                [
                    i.KegId, new InstantCell(i.At.Latest) { Traces = [trace] }, i.Inspection switch { InspectionKind.SpearPull => "spear pulled", InspectionKind.Swab => "swab", _ => "rest titrated" }, i.Passed ? "passed" : "DID NOT PASS", i.Found,
                    i.Value is { } value ? new NumberCell(value, i.Unit ?? "") { Traces = [trace] } : "", draws.Exists(d => d.Drawn.Contains(i.KegId)) ? "yes" : "no", RecordWords.Who(i.Act),
                ]),
            ]),
        };
        foreach (var kind in Enum.GetValues<InspectionKind>())
        {
            var kegs = inspections.Where(i => i.Inspection == kind).GroupBy(i => i.KegId).ToList();
            var failed = kegs.Count(k => k.Any(i => !i.Passed));
            if (kegs.Count > 0)
            {
                blocks.Add(new SubHeading(kind switch { InspectionKind.SpearPull => "What pulled spears say of the lot", InspectionKind.Swab => "What swabs say of the lot", _ => "What titrated rests say of the lot" }));
                blocks.Add(new Paragraph(Proof.Of(FailureBound.OfLot(population.Count, kegs.Count, failed, Confidence))));
                if (kegs.Any(k => !draws.Exists(d => d.Drawn.Contains(k.Key))))
                {
                    blocks.Add(new Paragraph("Not all kegs looked into were drawn at random from this lot: then the bound above does not hold.", ParagraphKind.Note));
                }
            }
        }

        blocks.Add(new Bullets("What it does not say", Proof.Limits));
        return blocks;
    }

    private static int Draws(EventLog drawn) => (drawn with { Until = null }).Trace("draws, to the end of the log");
}
