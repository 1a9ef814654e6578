using Parquet;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

public sealed class ExportTests
{
    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Samples_of_chosen_signals_and_a_period_become_csv()
    {
        using var store = Filled();
        using var target = new MemoryStream();
        var rows = await HistorianExport.SamplesAsync(store.Historian, [Generate.Signals[1], Generate.Signals[3]], Store.At(0), Store.At(30_000), ExportFormat.Csv, target, cancellation: Cancellation);
        Assert.Equal(4, rows);
        Assert.Equal(
            """
            washer,station,signal,unit,earliest,latest,value,text,quality
            w1,0,temperature.caustic,Cel,2031-03-05T08:00:01.000000Z,2031-03-05T08:00:01.010000Z,65.3,,good
            w1,0,temperature.caustic,Cel,2031-03-05T15:00:00.000000Z,2031-03-05T15:00:00.010000Z,,,bad
            w1,1,keg.id,,2031-03-05T08:00:01.000000Z,2031-03-05T08:00:01.010000Z,,"K ""1"", left",good
            w1,1,keg.id,,2031-03-05T15:00:00.000000Z,2031-03-05T15:00:00.010000Z,,K2,uncertain

            """,
            System.Text.Encoding.UTF8.GetString(target.ToArray()), ignoreLineEndingDifferences: true);
    }

    [Fact]
    public async Task Samples_become_parquet_that_reads_back_the_same()
    {
        using var store = Filled();
        using var target = new MemoryStream();
        var steps = new List<HistorianProgress>();
        await HistorianExport.SamplesAsync(store.Historian, [Generate.Signals[1]], Store.At(0), Store.At(30_000), ExportFormat.Parquet, target, new Steps(steps), Cancellation);
        target.Position = 0;
        await using var reader = await ParquetReader.CreateAsync(target, cancellationToken: Cancellation);
        var fields = reader.Schema.GetDataFields();
        Assert.Equal(["washer", "station", "signal", "unit", "earliest", "latest", "value", "text", "quality"], fields.Select(f => f.Name));
        using var group = reader.OpenRowGroupReader(0);
        var latest = new long?[2];
        var values = new double?[2];
        var qualities = new string?[2];
        await group.ReadAsync<long>(fields[5], latest, null, Cancellation);
        await group.ReadAsync<double>(fields[6], values, null, Cancellation);
        await group.ReadAsync(fields[8], qualities.AsMemory(), null, Cancellation);
        Assert.Equal([Store.At(1.01).UnixMicroseconds, Store.At(25_200.01).UnixMicroseconds], latest);
        Assert.Equal([65.3, null], values);
        Assert.Equal(["good", "bad"], qualities);
        Assert.Equal([new HistorianProgress(1, 2), new HistorianProgress(2, 2)], steps);
    }

    [Fact]
    public async Task Each_event_of_the_period_is_exported_once_also_at_the_turn_of_a_day()
    {
        using var store = new Store();
        store.Historian.AppendEvents([Generate.Event("a", seconds: 10), Generate.Event("turn", seconds: 86_399.8), Generate.Event("b", "w2", 90_000), Generate.Event("end", seconds: 172_799.8), Generate.Event("late", seconds: 172_801)]);
        using var target = new MemoryStream();
        var rows = await HistorianExport.EventsAsync(store.Historian, new EventQuery { From = Store.At(0), Until = Store.At(172_800) }, ExportFormat.Csv, target, cancellation: Cancellation);
        Assert.Equal(4, rows);
        var lines = System.Text.Encoding.UTF8.GetString(target.ToArray()).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(["a", "turn", "b", "end"], lines.Skip(1).Select(l => l.Split(',')[0]));
        Assert.Contains(WashJson.Write(Generate.Event("a", seconds: 10)).Replace("\"", "\"\"", StringComparison.Ordinal), lines[1], StringComparison.Ordinal);
        await Assert.ThrowsAsync<ArgumentException>(() => HistorianExport.EventsAsync(store.Historian, new EventQuery(), ExportFormat.Csv, target, cancellation: Cancellation));
    }

    [Fact]
    public async Task Cycles_become_one_row_each()
    {
        using var store = new Store();
        var edge = new Edge(new Moment(Store.At(1), Store.At(1), 0), new Moment(Store.At(2), Store.At(2), 0));
        store.Historian.AppendEvents([Generate.Event("scan"), new CycleEnded
        {
            Id = "w1-c/ended",
            Washer = "w1",
            CycleId = "w1-c",
            At = edge.Wall,
            Cycle = new CycleRecord { Id = "w1-c", Washer = "w1", Start = edge, End = edge, Outcome = CycleOutcome.Aborted, Programme = 3, Phases = [], Stations = [], Gaps = [], Pauses = [] },
        }]);
        using var target = new MemoryStream();
        await HistorianExport.CyclesAsync(store.Historian, new EventQuery { From = Store.At(0), Until = Store.At(100) }, ExportFormat.Csv, target, cancellation: Cancellation);
        var lines = System.Text.Encoding.UTF8.GetString(target.ToArray()).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal("w1-c,w1,2031-03-05T08:00:01.000000Z,2031-03-05T08:00:02.000000Z,2031-03-05T08:00:01.000000Z,2031-03-05T08:00:02.000000Z,aborted,no,3,,0,0,0", Assert.Single(lines.Skip(1)).TrimEnd('\r'));
    }

    /// <summary>Samples before, within and after the period of the tests, in two windows of the export, one of them sealed.</summary>
    private static Store Filled()
    {
        var store = new Store();
        store.Historian.AppendFrames([Frame(-10, 1, Quality.Good, "before"), Frame(1, 65.3, Quality.Good, "K \"1\", left")]);
        store.Historian.Seal(Store.At(100), Cancellation);
        store.Historian.AppendFrames([Frame(25_200, double.NaN, Quality.Bad, "K2"), Frame(40_000, 2, Quality.Good, "after")]);
        return store;
    }

    private static Frame Frame(double seconds, double number, Quality quality, string keg)
    {
        var read = new TimeBounds(Store.At(seconds), Store.At(seconds + 0.01));
        return new Frame
        {
            Washer = "w1",
            Group = 0,
            Kind = FrameKind.Full,
            Read = read,
            Samples = [new Sample(Generate.Signals[1], new SignalValue(number), quality, read), new Sample(Generate.Signals[3], SignalValue.Of(keg), keg == "K2" ? Quality.Uncertain : quality, read)],
        };
    }

    private sealed class Steps(List<HistorianProgress> steps) : IProgress<HistorianProgress>
    {
        public void Report(HistorianProgress value) => steps.Add(value);
    }
}
