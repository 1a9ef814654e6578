using System.Text.Json.Nodes;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Pairing;
using WashBridge.Pipeline;

namespace WashBridge.Orders;

/// <summary>
/// Where everything that people tell is written. One at a time: what is told is checked against how things stand, and nothing comes between the look and the entry.
/// </summary>
/// <param name="signal">Wakes those who follow the log; null: nobody does.</param>
/// <param name="role">Of the service; null: this is no service.</param>
internal sealed class RecordDesk(IHistorian historian, HistorianSignal? signal, TimeProvider time, ReadingRole? role = null)
{
    private readonly Lock _lock = new();

    /// <summary>Makes an event of what was told and commits it.</summary>
    /// <param name="make">Checks and makes it; from the historian as it stands and the time now.</param>
    /// <returns>The event as it is stored.</returns>
    /// <exception cref="TellingException">It cannot be taken; nothing is stored.</exception>
    public WashEvent Take(Func<IHistorian, DateTimeOffset, WashEvent> make)
    {
        lock (_lock)
        {
            RequireReading();
            var made = Unique(make(historian, time.GetUtcNow()), out var isStored);
            if (!isStored)
            {
                var last = historian.AppendEvents([made]);
                signal?.Publish(last);
            }

            return made;
        }
    }

    /// <summary>Commits many events at once, whose ids say all: those that are stored already are skipped.</summary>
    public void TakeAll(Func<DateTimeOffset, IReadOnlyList<WashEvent>> make)
    {
        lock (_lock)
        {
            RequireReading();
            var last = historian.AppendEvents(make(time.GetUtcNow()));
            signal?.Publish(last);
        }
    }

    /// <summary>Of two bridges that keep one log, one takes what is told: else each could take what does not fit with what the other has taken.</summary>
    private void RequireReading()
    {
        if (role is { IsReading: false, Partner: var partner })
        {
            throw new TellingException($"this bridge copies the log of another one, which takes what is told: tell it at {partner}", isConflict: true);
        }

        if (role is null && PairMemory.Read(historian) is not null)
        {
            throw new TellingException("this store is one of a pair: tell it to the service, which knows which of the two takes it", isConflict: true);
        }
    }

    /// <summary>
    /// The historian skips an event whose id it has, so that nothing is stored twice; but two things told of the same moment are two records. The same told
    /// again, as after an answer that got lost, stays one.
    /// </summary>
    private WashEvent Unique(WashEvent made, out bool isStored)
    {
        var query = new EventQuery { Washer = made.Washer, Kinds = [WashJson.KindOf(made)], From = made.At.Latest, Until = made.At.Earliest + TimeSpan.FromMicroseconds(1) };
        var stored = historian.ReadEvents(query).ToDictionary(e => e.Id, StringComparer.Ordinal);
        var unique = made;
        for (var repeat = 2; stored.TryGetValue(unique.Id, out var same); repeat++)
        {
            if (Content(same) == Content(unique))
            {
                isStored = true;
                return same;
            }

            unique = made with { Id = $"{made.Id}/{repeat}" };
        }

        isStored = false;
        return unique;
    }

    /// <summary>What it says, whenever and under whichever id it was entered.</summary>
    private static string Content(WashEvent told)
    {
        var json = JsonNode.Parse(WashJson.Write(told))!.AsObject();
        json.Remove("id");
        json.Remove("entered");
        json["act"]?.AsObject().Remove("entered");
        return json.ToJsonString();
    }
}
