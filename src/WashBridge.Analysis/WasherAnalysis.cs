using System.Text.Json;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;

namespace WashBridge.Analysis;

/// <summary>
/// The whole analysis of one washer: events go through its watches in order, and what a watch finds goes through those after it. Live, replayed
/// and recomputed findings are the same to the byte. Not safe for use by several threads at once.
/// </summary>
/// <param name="watches">In the order in which they build on one another.</param>
public sealed class WasherAnalysis(IReadOnlyList<IWatch> watches)
{
    /// <summary>Takes the next event of the washer, in the order of the log; what comes back is in the order in which it was found.</summary>
    public IReadOnlyList<WashEvent> Accept(WashEvent washEvent)
    {
        List<WashEvent>? all = null;
        washEvent = washEvent is BathChanged changed ? changed.AsMaintenance() : washEvent;
        foreach (var watch in watches)
        {
            // What this watch is given: the event itself and all findings of the watches before it.
            var given = all?.Count ?? 0;
            var found = watch.Accept(washEvent);
            Add(ref all, found);
            for (var i = 0; i < given; i++)
            {
                Add(ref all, watch.Accept(all![i]));
            }
        }

        return all ?? [];
    }

    public string Snapshot() => JsonSerializer.Serialize(watches.ToDictionary(w => w.Name, w => w.Snapshot()));

    /// <exception cref="JsonException"><paramref name="snapshot"/> is not of such an analysis.</exception>
    public void Restore(string snapshot)
    {
        var parts = JsonSerializer.Deserialize<Dictionary<string, string>>(snapshot) ?? throw new JsonException("the snapshot of an analysis cannot be null");
        foreach (var watch in watches)
        {
            if (parts.TryGetValue(watch.Name, out var part))
            {
                watch.Restore(part);
            }
        }
    }

    private static void Add(ref List<WashEvent>? all, IReadOnlyList<WashEvent> found)
    {
        if (found.Count > 0)
        {
            (all ??= []).AddRange(found);
        }
    }
}
