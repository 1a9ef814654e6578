using WashBridge.Core;
using WashBridge.Core.Records;
using WashBridge.Historian;

namespace WashBridge.Web.Pages.Records;

/// <summary>A stretch of the chain of records, the newest first.</summary>
/// <param name="Entries">At most as many as a page shows.</param>
/// <param name="Older">Where older ones go on: only numbers below this are left; null: none are.</param>
/// <param name="Corrections">By the number of the record that they correct, those of the records shown.</param>
internal sealed record RecordList(IReadOnlyList<RecordEntry> Entries, long? Older, ILookup<long, RecordEntry> Corrections)
{
    public const int PageSize = 50;

    /// <summary>A search that finds nothing ends here and offers to go on, so that no page is waited for.</summary>
    private const int MostLookedAt = 20_000;

    private const int BlockSize = 500;

    /// <param name="historian">Where they are.</param>
    /// <param name="kind">As in the events' JSON; null: any.</param>
    /// <param name="by">Part of the name of who did it, in any case; null: anybody.</param>
    /// <param name="below">Only numbers below this; null: from the newest on.</param>
    public static RecordList Read(IHistorianReader historian, string? kind, string? by, long? below)
    {
        var end = below ?? (historian.RecordHead?.Number ?? 0) + 1;
        var (found, looked) = (new List<RecordEntry>(), 0);
        while (end > 1 && found.Count <= PageSize && looked < MostLookedAt)
        {
            var begin = Math.Max(0, end - 1 - BlockSize);
            var block = historian.ReadRecords(begin, (int)(end - 1 - begin)).Where(r => r.Number < end);
            found.AddRange(block.Reverse().Where(r => Fits(r, kind, by)));
            looked += BlockSize;
            end = begin + 1;
        }

        var shown = found.Take(PageSize).ToList();
        long? older = found.Count > PageSize ? shown[^1].Number : end > 1 ? end : null;
        return new RecordList(shown, older, CorrectionsOf(historian, shown));
    }

    private static bool Fits(RecordEntry record, string? kind, string? by) =>
        (kind is null || WashJson.KindOf(record.Event) == kind) && (by is null || record.Act.By.Contains(by, StringComparison.OrdinalIgnoreCase));

    private static ILookup<long, RecordEntry> CorrectionsOf(IHistorianReader historian, List<RecordEntry> shown)
    {
        if (shown.Count == 0)
        {
            return Array.Empty<RecordEntry>().ToLookup(_ => 0L);
        }

        var numbers = shown.Select(r => r.Number).ToHashSet();
        var corrections = historian.ReadEvents(new EventQuery { Kinds = ["record-corrected"] }).OfType<RecordCorrected>().Where(c => numbers.Contains(c.Number)).ToList();
        return corrections.Select(c => new RecordEntry(0, 0, c, "")).ToLookup(r => ((RecordCorrected)r.Event).Number);
    }
}
