using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Historian;

namespace WashBridge.Pairing;

/// <summary>
/// Puts a stretch of the other's log at the end of this one, in its order, each entry once however often either is killed: a run of frames or events and how far the
/// copy has come are one transaction.
/// </summary>
internal sealed class PairCopier(IHistorian historian, LastReads reads)
{
    private readonly List<Frame> _frames = [];
    private readonly List<WashEvent> _events = [];

    /// <param name="memory">Where the copy stands; of this page's log.</param>
    /// <param name="ahead">The other's clock less ours.</param>
    /// <returns>Where it stands now; for the caller to store.</returns>
    /// <exception cref="System.Text.Json.JsonException">An entry is not understood; those before it are copied.</exception>
    public PairMemory Copy(PairPage page, PairMemory memory, TimeSpan ahead)
    {
        var corrects = Corrected(page);
        foreach (var entry in page.ToLog().Where(e => e.Sequence > memory.Mark.Theirs))
        {
            // What the other copied of ours is not copied back. What people told it is taken from all of its log: an id that is stored is skipped.
            var isOurs = entry.Sequence <= page.Copied.For(memory.Store).Ours;
            if (entry.Frame is { } frame)
            {
                Flush(_events.Count > 0);
                if (!isOurs && !IsBeforeFork(frame, memory.Fork, ahead))
                {
                    _frames.Add(frame);
                    reads.Take(frame);
                }
            }
            else if (entry.Event is { } told && (told is IRecord || (!isOurs && !IsBeforeFork(told, ref memory, ahead))))
            {
                // What a correction corrects has its number once it is stored.
                Flush(_frames.Count > 0 || told is RecordCorrected);
                _events.Add(Local(entry, corrects));
            }

            memory = memory with { Mark = memory.Mark with { Theirs = entry.Sequence } };
        }

        Flush(true);
        return memory with { Mark = memory.Mark with { Ours = historian.LastSequence } };

        void Flush(bool isDue)
        {
            if (!isDue)
            {
                return;
            }

            if (_frames.Count > 0)
            {
                historian.AppendFrames(_frames, memory.ToState(historian));
            }
            else if (_events.Count > 0)
            {
                historian.AppendEvents(_events, memory.ToState(historian));
            }

            _frames.Clear();
            _events.Clear();
        }
    }

    /// <summary>Takes only what people told the other.</summary>
    /// <inheritdoc cref="Copy"/>
    public PairMemory CopyTold(PairPage page, PairMemory memory)
    {
        var corrects = Corrected(page);
        foreach (var told in page.ToLog().Where(e => e.Event is IRecord))
        {
            historian.AppendEvents([Local(told, corrects)]);
        }

        return memory with { Told = page.End };
    }

    private static Dictionary<long, string> Corrected(PairPage page) => page.Entries.Where(e => e.Corrects is not null).ToDictionary(e => e.Sequence, e => e.Corrects!);

    private WashEvent Local(LogEntry entry, Dictionary<long, string> corrects) =>
        corrects.TryGetValue(entry.Sequence, out var id) ? Renumbered((RecordCorrected)entry.Event!, id) : entry.Event!;

    /// <summary>At that time this log was read by its own bridge.</summary>
    private static bool IsBeforeFork(Frame frame, Fork fork, TimeSpan ahead) => frame.Kind == FrameKind.Clock
        ? fork.EndOf(frame.Washer) is { } told && frame.Read.Latest - ahead <= told
        : fork.EndOf(frame.Washer, frame.Group) is { } end && frame.Read.Latest - ahead <= end;

    /// <summary>It is of a cycle that this log has under an id of its own, or of a time of which it has what its own frames say.</summary>
    private static bool IsBeforeFork(WashEvent washEvent, ref PairMemory memory, TimeSpan ahead)
    {
        var fork = memory.Fork;
        if (washEvent.CycleId is { } id && fork.Cycles.Contains(id))
        {
            return true;
        }

        var isBefore = fork.EndOf(washEvent.Washer) is { } end && washEvent.At.Latest - ahead <= end;
        if (isBefore && washEvent is CycleStarted { CycleId: { } begun })
        {
            memory = memory with { Fork = fork with { Cycles = [.. fork.Cycles, begun] } };
        }

        return isBefore;
    }

    /// <summary>Where records that only one of them has came between, the same record has another number here.</summary>
    private RecordCorrected Renumbered(RecordCorrected correction, string id)
    {
        if (historian.ReadRecords(correction.Number - 1, 1) is [var same] && same.Event.Id == id)
        {
            return correction;
        }

        for (var after = 0L; historian.ReadRecords(after, 1000) is { Count: > 0 } page; after = page[^1].Number)
        {
            if (page.FirstOrDefault(r => r.Event.Id == id) is { } found)
            {
                return correction with { Number = found.Number };
            }
        }

        return correction;
    }
}
