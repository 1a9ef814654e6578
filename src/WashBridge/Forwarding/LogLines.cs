using WashBridge.Historian;

namespace WashBridge.Forwarding;

/// <summary>Reads the log from a place on and renders it, a batch at a time. Used by one caller at a time.</summary>
internal sealed class LogLines(IHistorianReader historian, string site, bool samples, long after, int maxLines)
{
    /// <summary>Entries decoded at once: what a batch does not take waits here for the next.</summary>
    private const int EntriesPerRead = 500;

    /// <summary>Far below what servers take in one request (25 MB).</summary>
    private const int MaxBytes = 4 * 1024 * 1024;

    private readonly Queue<LogEntry> _ahead = new(EntriesPerRead);
    private readonly EventPoints _events = new(site);
    private readonly SamplePoints _samples = new(site);
    private long _read = after;

    /// <summary>Everything up to here has been given out in batches, or needed no lines.</summary>
    public long Position { get; private set; } = after;

    /// <summary>
    /// Fills <paramref name="batch"/> with whole entries until it holds the most lines a request may carry or the log ends. A single
    /// entry that has more lines than that makes a batch of its own.
    /// </summary>
    public void Fill(LineBatch batch)
    {
        batch.Clear(Position);
        while (TryPeek(out var entry))
        {
            var mark = batch.Position;
            Append(entry, batch);
            if ((batch.Count > maxLines || batch.Bytes > MaxBytes) && mark.Lines > 0)
            {
                batch.Return(mark);
                batch.IsFull = true;
                break;
            }

            _ahead.Dequeue();
            Position = entry.Sequence;
            if (batch.Count >= maxLines)
            {
                batch.IsFull = true;
                break;
            }
        }

        if (!batch.IsFull)
        {
            Position = _read;
        }

        batch.Through = Position;
    }

    private bool TryPeek(out LogEntry entry)
    {
        if (_ahead.Count == 0)
        {
            // Asked first: what is committed between the two reads must not be taken for read.
            var last = historian.LastSequence;
            var entries = historian.ReadLog(_read, EntriesPerRead, samples ? LogContent.All : LogContent.Events);
            foreach (var each in entries)
            {
                _ahead.Enqueue(each);
                _read = each.Sequence;
            }

            // Nothing of interest up to there. A short read would not say so: more may follow it.
            if (entries.Count == 0 && last > _read)
            {
                _read = last;
            }
        }

        return _ahead.TryPeek(out entry);
    }

    private void Append(LogEntry entry, LineBatch batch)
    {
        if (entry.Event is { } washEvent)
        {
            _events.Append(entry.Sequence, washEvent, batch);
        }
        else if (entry.Frame is { } frame && samples)
        {
            _samples.Append(entry.Sequence, frame, batch);
        }
    }
}
