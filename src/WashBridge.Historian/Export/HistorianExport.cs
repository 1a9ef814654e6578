using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Export;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian;

public enum ExportFormat
{
    /// <summary>RFC 4180, UTF-8, with a header line; instants as ISO 8601, numbers with a point.</summary>
    Csv = 0,

    /// <summary>Apache Parquet; instants as microseconds since 1970-01-01T00:00:00Z.</summary>
    Parquet = 1,
}

/// <summary>
/// Copies samples, events and cycles of a period into files other programs read. A window of time is in memory at once, never all of it.
/// </summary>
public static class HistorianExport
{
    private static readonly TimeSpan SampleWindow = TimeSpan.FromHours(6);
    private static readonly TimeSpan EventWindow = TimeSpan.FromDays(1);

    private static readonly TableColumn[] SampleColumns =
    [
        TableColumn.Text("washer"), TableColumn.Integer("station"), TableColumn.Text("signal"), TableColumn.Text("unit"), TableColumn.Time("earliest"), TableColumn.Time("latest"),
        TableColumn.Number("value"), TableColumn.Text("text"), TableColumn.Text("quality"),
    ];

    private static readonly TableColumn[] EventColumns =
    [
        TableColumn.Text("id"), TableColumn.Text("kind"), TableColumn.Text("washer"), TableColumn.Text("cycle"), TableColumn.Time("earliest"), TableColumn.Time("latest"), TableColumn.Text("json"),
    ];

    private static readonly TableColumn[] CycleColumns =
    [
        TableColumn.Text("id"), TableColumn.Text("washer"), TableColumn.Time("start_earliest"), TableColumn.Time("start_latest"), TableColumn.Time("end_earliest"), TableColumn.Time("end_latest"),
        TableColumn.Text("outcome"), TableColumn.Text("start_unseen"), TableColumn.Integer("programme"), TableColumn.Integer("cycle_count"), TableColumn.Integer("phases"), TableColumn.Integer("gaps"), TableColumn.Integer("pauses"),
    ];

    /// <summary>Samples with At.Latest within [from, until), signal by signal in order of time. Returns the number of rows.</summary>
    public static async Task<long> SamplesAsync(IHistorianReader reader, IReadOnlyList<Signal> signals, Instant from, Instant until, ExportFormat format, Stream target,
        IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default)
    {
        await using var table = await TableWriter.CreateAsync(format, SampleColumns, target, cancellation);
        var windows = Windows(from, until, SampleWindow);
        for (var i = 0; i < signals.Count * windows.Count; i++)
        {
            var (begin, end) = windows[i % windows.Count];
            foreach (var sample in reader.ReadSamples(signals[i / windows.Count], begin, new Instant(end.UnixMicroseconds - 1)).Where(s => s.At.Latest >= begin))
            {
                await table.AddAsync(Row(sample), cancellation);
            }

            progress?.Report(new HistorianProgress(i + 1, signals.Count * windows.Count));
        }

        return await table.FinishAsync(cancellation);
    }

    /// <summary>Events that the query finds, in order of the day on which they end. From and Until are required. Returns the number of rows.</summary>
    public static Task<long> EventsAsync(IHistorianReader reader, EventQuery query, ExportFormat format, Stream target,
        IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) => CopyEventsAsync(reader, query, EventColumns, Row, format, target, progress, cancellation);

    /// <summary>Cycles that ended within the query's period; its kinds are not looked at. Returns the number of rows.</summary>
    public static Task<long> CyclesAsync(IHistorianReader reader, EventQuery query, ExportFormat format, Stream target,
        IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) =>
        CopyEventsAsync(reader, query with { Kinds = ["cycle-ended"] }, CycleColumns, e => Row(((CycleEnded)e).Cycle), format, target, progress, cancellation);

    private static async Task<long> CopyEventsAsync(IHistorianReader reader, EventQuery query, TableColumn[] columns, Func<WashEvent, object?[]> row, ExportFormat format, Stream target,
        IProgress<HistorianProgress>? progress, CancellationToken cancellation)
    {
        if (query is not { From: { } from, Until: { } until })
        {
            throw new ArgumentException("an export needs the beginning and the end of its period", nameof(query));
        }

        await using var table = await TableWriter.CreateAsync(format, columns, target, cancellation);
        var windows = Windows(from, until, EventWindow);
        var left = query.AtMost ?? int.MaxValue;
        for (var i = 0; i < windows.Count && left > 0; i++)
        {
            var (begin, end) = windows[i];
            foreach (var each in reader.ReadEvents(query with { From = begin, Until = end, AtMost = null }))
            {
                // An event that ends in a later window is that window's, so that none is copied twice.
                if ((each.At.Latest < end || i == windows.Count - 1) && left-- > 0)
                {
                    await table.AddAsync(row(each), cancellation);
                }
            }

            progress?.Report(new HistorianProgress(i + 1, windows.Count));
        }

        return await table.FinishAsync(cancellation);
    }

    private static object?[] Row(Sample sample) =>
    [
        sample.Signal.Washer, (long)sample.Signal.Station, sample.Signal.Name, sample.Signal.Unit, sample.At.Earliest, sample.At.Latest,
        double.IsNaN(sample.Value.Number) ? null : sample.Value.Number, sample.Value.Text, sample.Quality switch { Quality.Good => "good", Quality.Uncertain => "uncertain", _ => "bad" },
    ];

    private static object?[] Row(WashEvent each)
    {
        var json = WashJson.Write(each);
        return [each.Id, EventKind.Of(json), each.Washer, each.CycleId, each.At.Earliest, each.At.Latest, json];
    }

    private static object?[] Row(CycleRecord cycle) =>
    [
        cycle.Id, cycle.Washer, cycle.Start.Earliest.Wall, cycle.Start.Latest.Wall, cycle.End.Earliest.Wall, cycle.End.Latest.Wall,
        cycle.Outcome switch { CycleOutcome.Completed => "completed", CycleOutcome.Aborted => "aborted", _ => "end-unseen" }, cycle.StartUnseen ? "yes" : "no",
        (long?)cycle.Programme, cycle.CycleCount, (long)cycle.Phases.Count, (long)cycle.Gaps.Count, (long)cycle.Pauses.Count,
    ];

    private static List<(Instant Begin, Instant End)> Windows(Instant from, Instant until, TimeSpan length)
    {
        var windows = new List<(Instant, Instant)>();
        for (var begin = from; begin < until;)
        {
            var end = Instant.Min(until, begin + length);
            windows.Add((begin, end));
            begin = end;
        }

        return windows;
    }
}
