using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;

namespace WashBridge.Web.Pages.Cycles;

/// <summary>A cycle in the list, with its kegs' last verdicts.</summary>
internal sealed record CycleLine(CycleRecord Cycle, IReadOnlyList<KegVerdict> Kegs);

/// <summary>Cycles of a period, the last first. Read backwards in short stretches, so that a long period costs no more than what is shown of it.</summary>
internal static class CycleList
{
    public const int MostLines = 200;

    private static readonly TimeSpan FirstStretch = TimeSpan.FromHours(6);

    /// <summary>At most <see cref="MostLines"/>, and whether there are more.</summary>
    public static (IReadOnlyList<CycleLine> Lines, bool HasMore) Read(IHistorianReader historian, string? washer, Period period)
    {
        var cycles = new Dictionary<string, CycleRecord>(StringComparer.Ordinal);
        var until = period.Until;
        for (var stretch = FirstStretch; until > period.From && cycles.Count <= MostLines; stretch *= 2)
        {
            var from = Instant.Max(period.From, until - stretch);
            foreach (var ended in historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["cycle-ended"], From = from, Until = until }).OfType<CycleEnded>())
            {
                cycles.TryAdd(ended.Cycle.Id, ended.Cycle);
            }

            until = from;
        }

        var shown = cycles.Values.OrderByDescending(c => c.End.Latest.Wall).Take(MostLines).ToList();
        if (shown.Count == 0)
        {
            return ([], false);
        }

        var judged = historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["keg-judged"], From = shown[^1].End.Earliest.Wall, Until = period.Until + FirstStretch })
            .OfType<KegJudged>().Select(k => k.Verdict).ToLookup(v => v.CycleId);
        return ([.. shown.Select(c => new CycleLine(c, [.. judged[c.Id].GroupBy(v => v.Station).OrderBy(v => v.Key).Select(v => v.Last())]))], cycles.Count > MostLines);
    }
}
