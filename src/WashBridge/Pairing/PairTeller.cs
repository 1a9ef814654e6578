using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Historian;

namespace WashBridge.Pairing;

/// <summary>Makes pages of a log for the other of a pair.</summary>
internal static class PairTeller
{
    /// <summary>The most entries of a page.</summary>
    public const int MostEntries = 1024;

    /// <param name="page">How this bridge stands.</param>
    /// <param name="after">The other has looked at all entries up to here.</param>
    public static PairPage With(PairPage page, IHistorianReader historian, long after, int atMost)
    {
        var entries = atMost <= 0 ? [] : historian.ReadLog(after, Math.Min(atMost, MostEntries));
        var signals = new List<Signal>();
        var indices = new Dictionary<Signal, int>();
        return page with { Entries = [.. entries.Select(e => PairEntry.Of(e, IndexOf, Corrected(e)))], Signals = signals };

        int IndexOf(Signal signal)
        {
            if (!indices.TryGetValue(signal, out var index))
            {
                indices.Add(signal, index = signals.Count);
                signals.Add(signal);
            }

            return index;
        }

        string? Corrected(LogEntry entry) => entry.Event is RecordCorrected { Number: var number } && historian.ReadRecords(number - 1, 1) is [var record] && record.Number == number ? record.Event.Id : null;
    }
}
