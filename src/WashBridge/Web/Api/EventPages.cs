using System.Text.Json.Nodes;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Api;

/// <summary>Pages of the log by cursor.</summary>
internal static class EventPages
{
    /// <summary>So many entries are looked at for one page, whatever is asked for: a page that finds little ends there, and has a next.</summary>
    private const int MostLookedAt = 10_000;

    private const int Batch = 500;

    public static EventPage Read(IHistorianReader historian, IReadOnlyCollection<string> kinds, string? washer, Instant? from, Instant? until, long after, int limit)
    {
        var items = new List<EventEntry>();
        for (var seen = 0; seen < MostLookedAt;)
        {
            var entries = historian.ReadEventLog(after, Batch, kinds);
            foreach (var entry in entries)
            {
                after = entry.Sequence;
                if (Fits(entry.Event!, washer, from, until))
                {
                    items.Add(new EventEntry(entry.Sequence, Json(entry.Event!)));
                    if (items.Count == limit)
                    {
                        return new EventPage(items, historian.ReadEventLog(after, 1, kinds).Count > 0 ? after : null);
                    }
                }
            }

            seen += entries.Count;
            if (entries.Count < Batch)
            {
                return new EventPage(items, null);
            }
        }

        return new EventPage(items, after);
    }

    public static JsonNode Json(WashEvent washEvent) => JsonNode.Parse(WashJson.Write(washEvent))!;

    private static bool Fits(WashEvent e, string? washer, Instant? from, Instant? until) =>
        (washer is null || e.Washer == washer) && (from is not { } begin || e.At.Latest >= begin) && (until is not { } end || e.At.Earliest < end);
}
