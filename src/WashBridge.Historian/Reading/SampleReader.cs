using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Reads the samples of one signal.</summary>
internal sealed class SampleReader(ReadPool pool, NameTable names, DamageLog damage)
{
    /// <summary>Chunks opened in one snapshot.</summary>
    private const int PageChunks = 64;

    private const string ChunkColumns = "SELECT segment, source, t_first, t_last, block, start, length, samples FROM chunks";
    private const string HotColumns = "SELECT first_seq, last_seq, t_first, t_last, sources, body FROM hot INDEXED BY hot_time";

    public IReadOnlyList<Sample> Read(Signal signal, Instant from, Instant until)
    {
        var samples = new List<Sample>();
        if (pool.Read(database => Identify(database, signal)) is not { } ids)
        {
            return samples;
        }

        var all = InPeriod(ids, from, until);
        samples.AddRange(all.Where(s => s.At.Latest >= from && s.At.Latest <= until));
        Sort(samples);
        if (Before(ids, from, all) is { } before)
        {
            samples.Insert(0, before);
        }

        return samples;
    }

    /// <summary>The hours that overlap [from, until), from samples alone.</summary>
    public IReadOnlyList<HourlySummary> Summarise(Signal signal, Instant from, Instant until)
    {
        var sums = new HourlySums();
        if (pool.Read(database => Identify(database, signal)) is { } ids)
        {
            var (first, last) = (HourlySums.HourOf(from.UnixMicroseconds), HourlySums.HourOf(until.UnixMicroseconds - 1) + HourlySums.HourMicroseconds - 1);
            var (chunks, hot) = pool.Read(database => (Chunks(database, ids.SignalId, first, last), Hot(database, ids, first, last)));
            ForEach(chunks, (database, blocks, chunk) => Summarise(database, blocks, ids, chunk, sums));
            hot.ForEach(s => sums.Add(s.At.Latest.UnixMicroseconds, s.Value.Number, s.Quality));
        }

        return HourlyReader.Within(sums, from, until);
    }

    /// <summary>Adds what is not sealed yet to sums of what is; to be called in the snapshot in which those were read.</summary>
    public void AddHot(Database database, Signal signal, long from, long until, HourlySums sums)
    {
        if (Identify(database, signal) is { } ids)
        {
            Hot(database, ids, from, until).ForEach(s => sums.Add(s.At.Latest.UnixMicroseconds, s.Value.Number, s.Quality));
        }
    }

    private Ids? Identify(Database database, Signal signal) =>
        names.IdOf(database, signal) is { } id && names.WasherId(database, signal.Washer) is { } washer ? new Ids(signal, id, washer) : null;

    /// <summary>All samples of the chunks and hot rows that reach into the period, so also some outside.</summary>
    private List<Sample> InPeriod(Ids ids, Instant from, Instant until)
    {
        var (chunks, hot) = pool.Read(database => (Chunks(database, ids.SignalId, from.UnixMicroseconds, until.UnixMicroseconds), Hot(database, ids, from.UnixMicroseconds, until.UnixMicroseconds)));
        var samples = new List<Sample>();
        ForEach(chunks, (database, blocks, chunk) => AddSamples(database, blocks, ids, chunk, samples));
        samples.AddRange(hot);
        return samples;
    }

    private static List<SegmentChunkRow> Chunks(Database database, int signal, long from, long until)
    {
        var span = database.Prepare("SELECT chunk_span FROM signals WHERE id = ?").Bind(1, signal).Scalar();
        var rows = database.Prepare($"{ChunkColumns} WHERE signal = ? AND t_last >= ? AND t_last <= ? AND t_first <= ? ORDER BY segment")
            .Bind(1, signal).Bind(2, from).Bind(3, Saturate.Add(until, span)).Bind(4, until);
        var chunks = new List<SegmentChunkRow>();
        while (rows.Step())
        {
            chunks.Add(ChunkTable.At(rows));
        }

        return chunks;
    }

    private List<Sample> Hot(Database database, Ids ids, long from, long until)
    {
        var hot = new HotRows(database, names, damage);
        var found = new List<(long Sequence, List<Sample> Samples)>();
        var rows = hot.InPeriod(from, until);
        while (rows.Step())
        {
            var samples = new List<Sample>();
            hot.ReadSamples(rows, ids.WasherId, ids.Signal, ids.SignalId, samples);
            if (samples.Count > 0)
            {
                found.Add((rows.Long(0), samples));
            }
        }

        found.Sort(static (a, b) => a.Sequence.CompareTo(b.Sequence));
        return [.. found.SelectMany(f => f.Samples)];
    }

    /// <summary>Visits chunks, a page in each snapshot; one that was dropped meanwhile is passed over.</summary>
    private void ForEach(List<SegmentChunkRow> chunks, Action<Database, ChunkTable, SegmentChunkRow> visit)
    {
        foreach (var page in chunks.Chunk(PageChunks))
        {
            pool.Read(database =>
            {
                foreach (var chunk in page)
                {
                    if (database.Prepare("SELECT 1 FROM segments WHERE id = ?").Bind(1, chunk.Segment).Scalar() == 1)
                    {
                        visit(database, new ChunkTable(database, chunk.Segment), chunk);
                    }
                }

                return page.Length;
            });
        }
    }

    private void AddSamples(Database database, ChunkTable blocks, Ids ids, SegmentChunkRow chunk, List<Sample> samples)
    {
        try
        {
            var (column, times) = Open(database, blocks, chunk);
            for (var i = 0; i < column.Count; i++)
            {
                var read = times.At(column.Frames[i]);
                samples.Add(new Sample(ids.Signal, column.ValueAt(i), column.QualityAt(i), column.BoundsAt(i, read)));
            }
        }
        catch (DamagedException e)
        {
            samples.Add(new Sample(ids.Signal, SignalValue.None, Quality.Bad, Report(ids, chunk, e).Time));
        }
    }

    private void Summarise(Database database, ChunkTable blocks, Ids ids, SegmentChunkRow chunk, HourlySums sums)
    {
        try
        {
            var (hour, whole) = (HourlySums.HourOf(chunk.First), HourlySums.HourOf(chunk.First) == HourlySums.HourOf(chunk.Last));
            var column = StoredColumn.Read(Unpacking.OfThread.Open(blocks.Piece(chunk)), HistorianLimits.SegmentSamples);
            if (whole && column.TrySummarise(chunk.Last) is { } all)
            {
                sums.Add(hour, all);
                return;
            }

            var times = Times.Read(database, chunk);
            for (var i = 0; i < column.Count; i++)
            {
                sums.Add(column.BoundsAt(i, times.At(column.Frames[i])).Latest.UnixMicroseconds, column.Numbers[i], column.QualityAt(i));
            }
        }
        catch (DamagedException e)
        {
            Report(ids, chunk, e);
        }
    }

    private static (StoredColumn Column, Times Times) Open(Database database, ChunkTable blocks, SegmentChunkRow chunk)
    {
        var times = Times.Read(database, chunk);
        return (StoredColumn.Read(Unpacking.OfThread.Open(blocks.Piece(chunk)), times.Count), times);
    }

    /// <summary>The last sample before <paramref name="from"/>, not more than a day before. Some may be at hand already.</summary>
    private Sample? Before(Ids ids, Instant from, List<Sample> atHand)
    {
        var best = Latest(null, atHand, from);
        var oldest = from - TimeSpan.FromDays(1);
        return pool.Read(database =>
        {
            var chunks = database.Prepare($"{ChunkColumns} WHERE signal = ? AND t_last < ? AND t_last >= ? ORDER BY t_last DESC, segment DESC").Bind(1, ids.SignalId).Bind(2, from.UnixMicroseconds).Bind(3, oldest.UnixMicroseconds);
            while (chunks.Step() && chunks.Long(3) > (best?.At.Latest.UnixMicroseconds ?? long.MinValue))
            {
                var samples = new List<Sample>();
                AddSamples(database, new ChunkTable(database, chunks.Long(0)), ids, ChunkTable.At(chunks), samples);
                best = Latest(best, samples, from);
            }

            chunks.Reset();
            var hot = new HotRows(database, names, damage);
            var rows = database.Prepare($"{HotColumns} WHERE t_last < ? AND t_last >= ? ORDER BY t_last DESC, first_seq DESC").Bind(1, from.UnixMicroseconds).Bind(2, oldest.UnixMicroseconds);
            while (rows.Step() && rows.Long(3) > (best?.At.Latest.UnixMicroseconds ?? long.MinValue))
            {
                var samples = new List<Sample>();
                hot.ReadSamples(rows, ids.WasherId, ids.Signal, ids.SignalId, samples);
                best = Latest(best, samples, from);
            }

            rows.Reset();
            return best is { } found && found.At.Latest >= oldest ? best : null;
        });
    }

    private static Sample? Latest(Sample? best, List<Sample> samples, Instant before)
    {
        foreach (var sample in samples)
        {
            if (sample.At.Latest < before && (best is null || sample.At.Latest >= best.Value.At.Latest))
            {
                best = sample;
            }
        }

        return best;
    }

    /// <summary>By time; the log's order where times are equal. Mostly they are in order already.</summary>
    private static void Sort(List<Sample> samples)
    {
        for (var i = 1; i < samples.Count; i++)
        {
            if (samples[i].At.Latest < samples[i - 1].At.Latest)
            {
                Sample[] sorted = [.. samples.OrderBy(s => s.At.Latest)];
                samples.Clear();
                samples.AddRange(sorted);
                return;
            }
        }
    }

    private Damage Report(Ids ids, SegmentChunkRow chunk, DamagedException e)
    {
        var found = new Damage($"segment {chunk.Segment}, samples of {ids.Signal}", 0, 0, new TimeBounds(new Instant(chunk.First), new Instant(chunk.Last)), e.Message);
        damage.Add(found);
        return found;
    }

    private sealed record Ids(Signal Signal, int SignalId, int WasherId);
}
