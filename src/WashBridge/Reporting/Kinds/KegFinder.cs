using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Reporting.Kinds;

/// <summary>Finds the washing that a report is about.</summary>
internal static class KegFinder
{
    /// <summary>Kegs to name are looked for so far back.</summary>
    private static readonly TimeSpan Recent = TimeSpan.FromDays(7);

    private const int MostNamed = 5;

    /// <summary>The keg's file, and the washing in it, by its last verdict.</summary>
    /// <exception cref="ReportWishException">No keg is named, or it was not washed.</exception>
    public static (KegFile File, KegWash Wash) Find(ReportContext context)
    {
        var wish = context.Wish;
        if (wish.Keg is not { Length: > 0 } keg)
        {
            throw new ReportWishException("keg: found none; allowed: the id of a keg that was washed");
        }

        var file = context.Keg(keg);
        if (wish.Cycle is { } cycle)
        {
            return file.Washes.LastOrDefault(w => w.CycleId == cycle) is { } named ? (file, named) : throw NoSuchCycle(context, keg, cycle);
        }

        var (from, until) = context.Period();
        return file.Washes.LastOrDefault(w => w.Judged.At.Latest >= from && w.Judged.At.Latest < until && (wish.Washer is null || w.Judged.Washer == wish.Washer)) is { } wash
            ? (file, wash)
            : throw NotWashed(context, keg, from, until);
    }

    private static ReportWishException NoSuchCycle(ReportContext context, string keg, string cycle)
    {
        var kegs = context.ReadCycle(cycle, "keg-judged").Of<KegJudged>().Select(k => k.Verdict.KegId).Distinct().Take(MostNamed).ToList();
        return new ReportWishException(kegs.Count == 0
            ? $"cycle: found {cycle}, of which no keg was judged; allowed: the id of a cycle, as reports print it"
            : $"cycle: found {cycle} with the kegs {string.Join(", ", kegs)}; allowed: a cycle in which {keg} was washed");
    }

    private static ReportWishException NotWashed(ReportContext context, string keg, Instant from, Instant until)
    {
        var seen = context.Read(context.Wish.Washer, Instant.Max(from, until - Recent), until, "keg-judged").Of<KegJudged>().OrderByDescending(k => k.At.Latest).Select(k => k.Verdict.KegId).Distinct().Take(MostNamed).ToList();
        var hint = seen.Count == 0 ? "none in the last days of the period" : $"the last washed were {string.Join(", ", seen)}";
        return new ReportWishException($"keg: found {keg}, which was not washed from {context.Local(from)} until {context.Local(until)}; allowed: the id of a keg that was ({hint})");
    }
}
