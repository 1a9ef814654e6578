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

    private const int MostTimes = 16;

    private const string ChunkColumns = "SELECT segment, source, t_first, t_last, block, start, length, samples FROM chunks";
    private const string HotColumns = "SELECT first_seq, last_seq, t_first, t_last, sources, body FROM hot INDEXED BY hot_time";

    private readonly RecentCache<(long Segment, int Source), Times> _times = new(MostTimes);
    private readonly ChunkTable _blocks = new();

    public IReadOnlyList<Sample> Read(Signal signal, Instant from, Instant until)
    {
        var found = new SampleSelection(from, until);
        var oldest = from - TimeSpan.FromDays(1);
        List<SegmentChunkRow> later = [];
        List<Sample> hot = [];
        var ids = pool.Read(database =>
        {
            if (Identify(database, signal) is not { } known)
            {
                return null;
            }

            var chunks = Chunks(database, known.SignalId, from.UnixMicroseconds, until.UnixMicroseconds);
            hot = Hot(database, known, from.UnixMicroseconds, until.UnixMicroseconds);
            if (chunks.Count > PageChunks)
            {
                later = chunks;
                return known;
            }

            chunks.ForEach(chunk => Select(database, known, chunk, found));
            hot.ForEach(found.Offer);
            LookBefore(database, known, oldest, found);
            return known;
        });
        if (ids is not null && later.Count > 0)
        {
            ForEach(later, (database, chunk) => Select(database, ids, chunk, found));
            hot.ForEach(found.Offer);
            pool.Read(database => LookBefore(database, ids, oldest, found));
        }

        return found.InOrder(oldest);
    }

    /// <summary>The hours that overlap [from, until), from samples alone.</summary>
    public IReadOnlyList<HourlySummary> Summarise(Signal signal, Instant from, Instant until)
    {
        var sums = new HourlySums();
        if (pool.Read(database => Identify(database, signal)) is { } ids)
        {
            var (first, last) = (HourlySums.HourOf(from.UnixMicroseconds), HourlySums.HourOf(until.UnixMicroseconds - 1) + HourlySums.HourMicroseconds - 1);
            var (chunks, hot) = pool.Read(database => (Chunks(database, ids.SignalId, first, last), Hot(database, ids, first, last)));
            ForEach(chunks, (database, chunk) => Summarise(database, ids, chunk, sums));
            hot.ForEach(s => sums.Add(s.At.Latest.UnixMicroseconds, s.Value.Number, s.Quality));
        }

        return HourlyReader.Within(sums, from, until);
    }

    /// <summary>Sums samples up without keeping them.</summary>
    public SignalParts ReadParts(Signal signal, Instant from, Instant until, int count)
    {
        var parts = new SignalParts(from, until, count);
        if (pool.Read(database => Identify(database, signal)) is { } ids)
        {
            var (first, last) = (from.UnixMicroseconds, until.UnixMicroseconds - 1);
            var (chunks, hot) = pool.Read(database => (Chunks(database, ids.SignalId, first, last), Hot(database, ids, first, last)));
            ForEach(chunks, (database, chunk) => AddTo(database, ids, chunk, parts));
            hot.ForEach(s => parts.Add(s.At.Latest.UnixMicroseconds, s.Value.Number, s.Quality));
        }

        return parts;
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
    private void ForEach(List<SegmentChunkRow> chunks, Action<Database, SegmentChunkRow> visit)
    {
        foreach (var page in chunks.Chunk(PageChunks))
        {
            pool.Read(database =>
            {
                foreach (var chunk in page)
                {
                    if (database.Prepare("SELECT 1 FROM segments WHERE id = ?").Bind(1, chunk.Segment).Scalar() == 1)
                    {
                        visit(database, chunk);
                    }
                }

                return page.Length;
            });
        }
    }

    private void Select(Database database, Ids ids, SegmentChunkRow chunk, SampleSelection found)
    {
        try
        {
            var times = _times.GetOrAdd((chunk.Segment, chunk.Source), () => Times.Read(database, chunk));
            var column = StoredColumn.Read(Unpacking.OfThread.Open(_blocks.Piece(database, chunk)), times.Count);
            for (var i = column.IsAscending ? FirstWanted(column, times, found.From) : 0; i < column.Count; i++)
            {
                var at = column.BoundsAt(i, times.At(column.FrameAt(i)));
                if (found.Wants(at.Latest))
                {
                    found.Offer(new Sample(ids.Signal, column.ValueAt(i), column.QualityAt(i), at));
                }
                else if (column.IsAscending && at.Latest > found.Until)
                {
                    break;
                }
            }
        }
        catch (DamagedException e)
        {
            found.Offer(new Sample(ids.Signal, SignalValue.None, Quality.Bad, Report(ids, chunk, e).Time));
        }
    }

    private void AddTo(Database database, Ids ids, SegmentChunkRow chunk, SignalParts parts)
    {
        try
        {
            var times = _times.GetOrAdd((chunk.Segment, chunk.Source), () => Times.Read(database, chunk));
            var column = StoredColumn.Read(Unpacking.OfThread.Open(_blocks.Piece(database, chunk)), times.Count);
            for (var i = 0; i < column.Count; i++)
            {
                parts.Add(column.BoundsAt(i, times.At(column.FrameAt(i))).Latest.UnixMicroseconds, column.Numbers[i], column.QualityAt(i));
            }
        }
        catch (DamagedException e)
        {
            parts.Add(Report(ids, chunk, e).Time.Latest.UnixMicroseconds, double.NaN, Quality.Bad);
        }
    }

    private void Summarise(Database database, Ids ids, SegmentChunkRow chunk, HourlySums sums)
    {
        try
        {
            var (hour, whole) = (HourlySums.HourOf(chunk.First), HourlySums.HourOf(chunk.First) == HourlySums.HourOf(chunk.Last));
            var column = StoredColumn.Read(Unpacking.OfThread.Open(_blocks.Piece(database, chunk)), HistorianLimits.SegmentSamples);
            if (whole && column.TrySummarise(chunk.Last) is { } all)
            {
                sums.Add(hour, all);
                return;
            }

            var times = _times.GetOrAdd((chunk.Segment, chunk.Source), () => Times.Read(database, chunk));
            for (var i = 0; i < column.Count; i++)
            {
                sums.Add(column.BoundsAt(i, times.At(column.FrameAt(i))).Latest.UnixMicroseconds, column.Numbers[i], column.QualityAt(i));
            }
        }
        catch (DamagedException e)
        {
            Report(ids, chunk, e);
        }
    }

    /// <summary>In a column whose times ascend: the last sample before the period, or else the first there is.</summary>
    private static int FirstWanted(StoredColumn column, Times times, Instant from)
    {
        var (low, high) = (0, column.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (column.BoundsAt(middle, times.At(column.FrameAt(middle))).Latest < from)
            {
                low = middle + 1;
            }
            else
            {
                high = middle;
            }
        }

        return Math.Max(0, low - 1);
    }

    /// <summary>Looks for the last sample before the period in what lies wholly before it, as long as something later than the best so far can be there.</summary>
    private bool LookBefore(Database database, Ids ids, Instant oldest, SampleSelection found)
    {
        var from = found.From.UnixMicroseconds;
        var chunks = database.Prepare($"{ChunkColumns} WHERE signal = ? AND t_last < ? AND t_last >= ? ORDER BY t_last DESC, segment DESC").Bind(1, ids.SignalId).Bind(2, from).Bind(3, oldest.UnixMicroseconds);
        while (chunks.Step() && found.WantsBefore(chunks.Long(3)))
        {
            Select(database, ids, ChunkTable.At(chunks), found);
        }

        chunks.Reset();
        var hot = new HotRows(database, names, damage);
        var rows = database.Prepare($"{HotColumns} WHERE t_last < ? AND t_last >= ? ORDER BY t_last DESC, first_seq DESC").Bind(1, from).Bind(2, oldest.UnixMicroseconds);
        while (rows.Step() && found.WantsBefore(rows.Long(3)))
        {
            var samples = new List<Sample>();
            hot.ReadSamples(rows, ids.WasherId, ids.Signal, ids.SignalId, samples);
            samples.ForEach(found.Offer);
        }

        rows.Reset();
        return found.HasBefore;
    }

    private Damage Report(Ids ids, SegmentChunkRow chunk, DamagedException e)
    {
        var found = new Damage($"segment {chunk.Segment}, samples of {ids.Signal}", 0, 0, new TimeBounds(new Instant(chunk.First), new Instant(chunk.Last)), e.Message);
        damage.Add(found);
        return found;
    }

    private sealed record Ids(Signal Signal, int SignalId, int WasherId);
}
