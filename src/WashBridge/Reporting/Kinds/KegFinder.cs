using WashBridge.Core.Cycles;
using WashBridge.Core.Time;

namespace WashBridge.Reporting.Kinds;

/// <summary>Finds the washing that a report is about.</summary>
internal static class KegFinder
{
    /// <summary>How far around a washing others of the same keg are looked for.</summary>
    public static readonly TimeSpan Around = TimeSpan.FromDays(90);

    // Backwards a piece at a time: mostly the last piece is enough.
    private static readonly TimeSpan Piece = TimeSpan.FromDays(7);

    private const int MostNamed = 5;

    /// <exception cref="ReportWishException">No keg is named, or it was not washed.</exception>
    public static KegJudged Find(ReportContext context)
    {
        var wish = context.Wish;
        if (wish.Keg is not { Length: > 0 } keg)
        {
            throw new ReportWishException("keg: found none; allowed: the id of a keg that was washed");
        }

        if (wish.Cycle is { } cycle)
        {
            var ofCycle = context.ReadCycle(cycle, "keg-judged").Of<KegJudged>().ToList();
            return ofCycle.LastOrDefault(k => k.Verdict.KegId == keg) ?? throw new ReportWishException(ofCycle.Count == 0
                ? $"cycle: found {cycle}, of which no keg was judged; allowed: the id of a cycle, as reports print it"
                : $"cycle: found {cycle} with the kegs {string.Join(", ", ofCycle.Select(k => k.Verdict.KegId).Take(MostNamed))}; allowed: a cycle in which {keg} was washed");
        }

        var (from, until) = context.Period();
        var seen = new List<string>();
        for (var end = until; end > from; end -= Piece)
        {
            var begin = Instant.Max(from, end - Piece);
            var kegs = context.Read(wish.Washer, begin, end, "keg-judged").Of<KegJudged>().OrderBy(k => k.At.Latest).ToList();
            if (kegs.LastOrDefault(k => k.Verdict.KegId == keg) is { } found)
            {
                return found;
            }

            seen.AddRange(kegs.Select(k => k.Verdict.KegId).Reverse().Distinct().Take(MostNamed));
        }

        var hint = seen.Count == 0 ? "the period has no kegs" : $"the last washed were {string.Join(", ", seen.Take(MostNamed))}";
        throw new ReportWishException($"keg: found {keg}, which was not washed from {context.Local(from)} until {context.Local(until)}; allowed: the id of a keg that was ({hint})");
    }

    /// <summary>Judgements around a washing.</summary>
    public static EventLog Near(ReportContext context, KegJudged judged) => context.Read(null, judged.At.Latest - Around, judged.At.Latest + Around, "keg-judged");
}
