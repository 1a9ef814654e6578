using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Pages.Data;

/// <summary>A stretch in which a group of signals could not be read.</summary>
/// <param name="Until">Null: it lasts.</param>
/// <param name="Reason">Null: it was told before the period.</param>
internal sealed record Gap(string Washer, int Group, Instant From, Instant? Until, string? Reason)
{
    /// <summary>At most so long, as the reads before and after bound it.</summary>
    public TimeSpan Length(Instant now) => (Until ?? now) - From is { Ticks: > 0 } length ? length : TimeSpan.Zero;

    /// <summary>The latest first.</summary>
    public static IReadOnlyList<Gap> Read(IHistorianReader historian, Instant since) =>
        Of(historian.ReadEvents(new EventQuery { Kinds = ["source-lost", "source-restored"], From = since }));

    /// <param name="events">In the order of the log.</param>
    internal static IReadOnlyList<Gap> Of(IEnumerable<WashEvent> events)
    {
        var gaps = new List<Gap>();
        var open = new Dictionary<(string, int), SourceLost>();
        foreach (var each in events)
        {
            if (each is SourceLost lost)
            {
                open.TryAdd((lost.Washer, lost.Group), lost);
            }
            else if (each is SourceRestored restored)
            {
                open.Remove((restored.Washer, restored.Group), out var began);
                gaps.Add(new Gap(restored.Washer, restored.Group, restored.Gap.Earliest, restored.Gap.Latest, began?.Reason));
            }
        }

        gaps.AddRange(open.Values.Select(l => new Gap(l.Washer, l.Group, l.At.Earliest, null, l.Reason)));
        return [.. gaps.OrderByDescending(g => g.Until is null).ThenByDescending(g => g.From)];
    }
}
