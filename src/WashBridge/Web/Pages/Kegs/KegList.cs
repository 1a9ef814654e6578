using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;

namespace WashBridge.Web.Pages.Kegs;

/// <summary>The kegs of a filter, the last washed first, and how many there are of each kind.</summary>
/// <param name="Lines">Those of the page.</param>
/// <param name="Count">All that the filter lets through.</param>
/// <param name="ByVerdict">Counts before the filter by verdict and state.</param>
/// <param name="ByState">As <paramref name="ByVerdict"/>, by <see cref="KegFilter.States"/>; null: too many to look each up.</param>
public sealed record KegList(IReadOnlyList<KegLine> Lines, int Count, IReadOnlyDictionary<string, int> ByVerdict, IReadOnlyDictionary<string, int>? ByState, int Plain)
{
    /// <summary>Above this many the decisions are looked up of one page alone, unless the filter asks for them.</summary>
    public const int MostCounted = 3000;

    public int Washed => ByVerdict.Values.Sum();

    public int Pages => Math.Max(1, (Count + KegFilter.PageSize - 1) / KegFilter.PageSize);

    internal static KegList Read(IHistorianReader historian, KegFilter filter)
    {
        var washings = Washings(historian, filter);
        var byVerdict = KegFilter.Verdicts.ToDictionary(v => v, v => washings.Count(w => KegFilter.Of(w.Verdict.Verdict) == v), StringComparer.Ordinal);
        var isCounted = washings.Count <= MostCounted || filter.State is not null;
        if (!isCounted)
        {
            var wanted = washings.Where(w => filter.HasVerdict(w.Verdict.Verdict)).ToList();
            return new KegList(KegStandings.Of(historian, OnPage(wanted, filter)), wanted.Count, byVerdict, null, 0);
        }

        var all = KegStandings.Of(historian, washings);
        var fitting = all.Where(l => filter.HasVerdict(l.Verdict.Verdict) && filter.HasState(l)).ToList();
        var byState = KegFilter.States.ToDictionary(s => s, s => all.Count(l => KegFilter.Of(l) == s), StringComparer.Ordinal);
        return new KegList(OnPage(fitting, filter), fitting.Count, byVerdict, byState, fitting.Count(l => l.IsPlain));
    }

    /// <summary>All that can be released together.</summary>
    internal static IReadOnlyList<KegLine> ReadPlain(IHistorianReader historian, KegFilter filter) =>
        [.. KegStandings.Of(historian, [.. Washings(historian, filter).Where(w => w.Verdict.Verdict == Verdict.Met)]).Where(l => l.IsPlain && filter.HasState(l) && filter.HasVerdict(l.Verdict.Verdict)).Take(KegFilter.Most)];

    private static List<T> OnPage<T>(List<T> lines, KegFilter filter) =>
        filter.All ? [.. lines.Take(KegFilter.Most)] : [.. lines.Skip((filter.Page - 1) * KegFilter.PageSize).Take(KegFilter.PageSize)];

    /// <summary>The last verdict of each washing, the last washed first.</summary>
    private static List<KegJudged> Washings(IHistorianReader historian, KegFilter filter)
    {
        var query = filter.Cycle is { } cycle
            ? new EventQuery { Washer = filter.Washer, Kinds = ["keg-judged"], CycleId = cycle }
            : new EventQuery { Washer = filter.Washer, Kinds = ["keg-judged"], From = filter.Period.From, Until = filter.Period.Until };
        return [.. historian.ReadEvents(query).OfType<KegJudged>()
            .Where(k => filter.Part is not { } part || k.Verdict.KegId.Contains(part, StringComparison.OrdinalIgnoreCase))
            .GroupBy(k => (k.Verdict.CycleId, k.Verdict.Station))
            .Select(g => g.Last())
            .OrderByDescending(k => k.At.Latest).ThenBy(k => k.Verdict.Station)];
    }
}
