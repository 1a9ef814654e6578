using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Trends;

/// <summary>The latest events of a kind, however long the log is: read backwards, a longer piece each time.</summary>
internal static class LatestEvents
{
    private static readonly TimeSpan FirstPiece = TimeSpan.FromHours(6);
    private static readonly TimeSpan LongestPiece = TimeSpan.FromDays(64);

    /// <summary>Nothing is looked for further back.</summary>
    private static readonly TimeSpan Farthest = TimeSpan.FromDays(400);

    /// <param name="from">Null: as far back as it takes, at most some 400 days.</param>
    /// <returns>In order, at most <paramref name="most"/>.</returns>
    public static IReadOnlyList<T> Read<T>(IHistorianReader historian, string washer, string kind, Instant? from, Instant until, int most)
        where T : WashEvent
    {
        var earliest = from ?? until - Farthest;
        var (found, piece, end) = (new List<T>(), FirstPiece, until);
        while (end > earliest && found.Count < most)
        {
            var begin = end - piece > earliest ? end - piece : earliest;
            var events = historian.ReadEvents(new EventQuery { Washer = washer, Kinds = [kind], From = begin, Until = end }).OfType<T>().Where(e => e.At.Latest < end || end == until);
            found.InsertRange(0, events);
            (end, piece) = (begin, piece + piece < LongestPiece ? piece + piece : LongestPiece);
        }

        return found.Count > most ? found[^most..] : found;
    }
}
