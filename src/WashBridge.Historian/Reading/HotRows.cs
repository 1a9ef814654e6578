using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Reads rows of the hot table within one snapshot.</summary>
internal sealed class HotRows(Database database, NameTable names, DamageLog damage)
{
    private readonly Dictionary<int, long> _sealedThrough = LoadSealedThrough(database);

    public Database Database => database;

    /// <summary>
    /// Adds the frames of the row that <paramref name="row"/> stands on (columns first_seq, last_seq, t_first, t_last, sources, body)
    /// that are of the washer, follow <paramref name="after"/> and were read when <paramref name="wanted"/> says.
    /// </summary>
    public void Read(Statement row, int? washer, long after, Func<TimeBounds, bool> wanted, List<LogEntry> entries)
    {
        var (first, last) = (row.Long(0), row.Long(1));
        var before = entries.Count;
        try
        {
            if (!Concerns(row.Blob(4), washer, last))
            {
                return;
            }

            var batch = new HotBatchReader(row.Blob(5), first, last);
            while (batch.MoveNext())
            {
                if (batch.Sequence > after && IsOpen(names.Source(database, batch.Source), washer, batch.Sequence) && wanted(batch.Read))
                {
                    entries.Add(new LogEntry(batch.Sequence, batch.Build(database, names), null));
                }
            }
        }
        catch (DamagedException e)
        {
            entries.RemoveRange(before, entries.Count - before);
            AddLost(row, washer, after, Report(row, e.Message), entries);
        }
    }

    /// <summary>
    /// Adds the samples of one signal in the row that <paramref name="row"/> stands on; in the place of what is lost, a bad one.
    /// </summary>
    public void ReadSamples(Statement row, int washer, Signal signal, int signalId, List<Sample> samples)
    {
        var before = samples.Count;
        try
        {
            if (!Concerns(row.Blob(4), washer, row.Long(1)))
            {
                return;
            }

            var batch = new HotBatchReader(row.Blob(5), row.Long(0), row.Long(1));
            while (batch.MoveNext())
            {
                if (IsOpen(names.Source(database, batch.Source), washer, batch.Sequence))
                {
                    batch.Collect(signal, signalId, samples);
                }
            }
        }
        catch (DamagedException e)
        {
            samples.RemoveRange(before, samples.Count - before);
            samples.Add(new Sample(signal, SignalValue.None, Quality.Bad, Report(row, e.Message).Time));
        }
    }

    /// <summary>Rows that can hold a frame or a sample within [from, until] (microseconds), in no order.</summary>
    public Statement InPeriod(long from, long until)
    {
        var span = database.Prepare("SELECT value FROM meta WHERE name = 'hot_span'").Scalar(HotBatch.SpanMicroseconds);
        return database.Prepare("SELECT first_seq, last_seq, t_first, t_last, sources, body FROM hot INDEXED BY hot_time WHERE t_last >= ? AND t_last <= ? AND t_first <= ?")
            .Bind(1, from).Bind(2, Saturate.Add(until, span)).Bind(3, until);
    }

    /// <summary>Adds the washer's frames of the rows that can hold a frame or a sample within [from, until] (microseconds), in no order.</summary>
    public void ReadPeriod(long from, long until, int washer, Func<TimeBounds, bool> wanted, List<LogEntry> entries)
    {
        var rows = InPeriod(from, until);
        while (rows.Step())
        {
            Read(rows, washer, 0, wanted, entries);
        }
    }

    /// <summary>Whether a row with these sources can hold frames of the washer that are not sealed.</summary>
    private bool Concerns(ReadOnlySpan<byte> sources, int? washer, long last)
    {
        var reader = new ByteReader(sources);
        while (!reader.AtEnd)
        {
            if (IsOpen(names.Source(database, (int)reader.Varint()), washer, last))
            {
                return true;
            }
        }

        return false;
    }

    private bool IsOpen(Source source, int? washer, long sequence) =>
        (washer is null || source.WasherId == washer) && sequence > _sealedThrough.GetValueOrDefault(source.WasherId);

    private Damage Report(Statement row, string problem)
    {
        var time = new TimeBounds(new Instant(row.Long(2)), new Instant(row.Long(3)));
        var found = new Damage($"hot batch {row.Long(0)}", row.Long(0), row.Long(1), time, problem);
        damage.Add(found);
        return found;
    }

    /// <summary>In the place of what is lost, each group concerned has failed: nothing is known of its signals until its next frame.</summary>
    private void AddLost(Statement row, int? washer, long after, Damage found, List<LogEntry> entries)
    {
        var last = row.Long(1);
        var sequence = row.Long(0);
        foreach (var source in SourcesOf(row))
        {
            if (sequence > after && sequence <= last && IsOpen(source, washer, sequence))
            {
                var frame = new Frame { Washer = source.Washer, Group = source.Group, Kind = FrameKind.Failed, Read = found.Time, Reason = $"stored data is damaged: {found.Place}, {found.Problem}" };
                entries.Add(new LogEntry(sequence, frame, null));
            }

            sequence++;
        }
    }

    /// <summary>As many as can be read: their list may be damaged too.</summary>
    private List<Source> SourcesOf(Statement row)
    {
        var sources = new List<Source>();
        var reader = new ByteReader(row.Blob(4));
        try
        {
            while (!reader.AtEnd)
            {
                sources.Add(names.Source(database, (int)reader.Varint()));
            }
        }
        catch (DamagedException)
        {
            // The row is reported already.
        }

        return sources;
    }

    private static Dictionary<int, long> LoadSealedThrough(Database database)
    {
        var result = new Dictionary<int, long>();
        var washers = database.Prepare("SELECT id, sealed_through FROM washers");
        while (washers.Step())
        {
            result.Add(washers.Int(0), washers.Long(1));
        }

        return result;
    }
}
