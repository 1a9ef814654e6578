using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Analysing;

/// <summary>
/// The latest measured cycles of every washer in a period: how they stand now, and not how they stood a year ago. A washer that has stood still for as long as
/// the last cycles of the others reach back is left out.
/// </summary>
internal static class PeerCycles
{
    /// <summary>Of each washer.</summary>
    public const int Most = 1000;

    // Backwards a piece at a time: a year of a site is gigabytes, and mostly the last piece is enough.
    private static readonly TimeSpan Piece = TimeSpan.FromDays(7);

    /// <returns>By washer, the cycles in order.</returns>
    public static IReadOnlyDictionary<string, IReadOnlyList<CycleFeatures>> Read(IHistorianReader historian, Instant from, Instant until)
    {
        var washers = new Dictionary<string, List<CycleMeasured>>(StringComparer.Ordinal);
        for (var end = until; end > from && (washers.Count == 0 || washers.Values.Any(w => w.Count < Most)); end -= Piece)
        {
            var begin = end - Piece > from ? end - Piece : from;
            var piece = historian.ReadEvents(new EventQuery { Kinds = ["cycle-measured"], From = begin, Until = end }).OfType<CycleMeasured>();
            foreach (var washer in piece.Where(e => e.At.Latest < end || end == until).GroupBy(e => e.Washer))
            {
                var later = washers.GetValueOrDefault(washer.Key) ?? [];
                washers[washer.Key] = [.. washer.Concat(later).TakeLast(Most)];
            }
        }

        return washers.ToDictionary(w => w.Key, w => (IReadOnlyList<CycleFeatures>)[.. w.Value.Select(e => e.Features)], StringComparer.Ordinal);
    }
}
