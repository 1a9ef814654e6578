using System.Diagnostics.Metrics;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Telemetry;
using WashBridge.Tests.Web.Kegs;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Telemetry;

public sealed class LogCountsTests : IDisposable
{
    private static readonly Instant Begin = Instant.Parse("2031-03-05T06:00:00Z");

    private readonly TemporaryFolder _folder = new();
    private readonly ServiceProvider _services = new ServiceCollection().AddMetrics().BuildServiceProvider();
    private readonly MeterListener _listener = new();
    private readonly SortedDictionary<string, long> _sums = new(StringComparer.Ordinal);
    private readonly IHistorian _historian;

    public LogCountsTests()
    {
        _historian = HistorianFile.Open(_folder["counts.washdb"], new HistorianOptions(), TimeProvider.System);
        var own = _services.GetRequiredService<IMeterFactory>();
        _listener.InstrumentPublished = (instrument, self) =>
        {
            if (ReferenceEquals(instrument.Meter.Scope, own))
            {
                self.EnableMeasurementEvents(instrument);
            }
        };
        _listener.SetMeasurementEventCallback<long>((instrument, value, labels, _) =>
        {
            var key = $"{instrument.Name} {string.Join(' ', labels.ToArray().Select(l => l.Value))}";
            _sums[key] = instrument.IsObservable ? value : _sums.GetValueOrDefault(key) + value;
        });
        _listener.Start();
    }

    public void Dispose()
    {
        _listener.Dispose();
        _services.Dispose();
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void Verdicts_are_counted_once_however_often_they_are_found_and_only_since_the_start()
    {
        _historian.AppendEvents([WashedKegs.Judged("K-1", Verdict.Met, Begin)]);
        var counts = Start();
        var judged = WashedKegs.Judged("K-2", Verdict.NotProven, Begin + TimeSpan.FromMinutes(1));
        _historian.AppendEvents([judged, WashedKegs.Judged("K-3", Verdict.NotMet, Begin + TimeSpan.FromMinutes(2))]);
        counts.CatchUp();
        _historian.AppendEvents([judged, WashedKegs.Judged("K-4", Verdict.NotMet, Begin + TimeSpan.FromMinutes(3))]);
        counts.CatchUp();
        Assert.Equal(
            new Dictionary<string, long> { ["washbridge.verdicts north NotMet"] = 2, ["washbridge.verdicts north NotProven"] = 1 },
            _sums);
    }

    [Fact]
    public void More_than_a_batch_is_counted_whole()
    {
        var counts = Start();
        _historian.AppendEvents([.. Enumerable.Range(0, 2_500).Select(i => WashedKegs.Judged($"K-{i}", Verdict.Met, Begin + TimeSpan.FromSeconds(i)))]);
        counts.CatchUp();
        Assert.Equal(2_500, _sums["washbridge.verdicts north Met"]);
    }

    [Fact]
    public void Alarms_that_stood_before_the_start_are_open_and_zero_once_they_are_over()
    {
        _historian.AppendEvents([Alarm(1, AlarmState.Normal, AlarmState.Unacknowledged)]);
        var counts = Start();
        _listener.RecordObservableInstruments();
        Assert.Equal((1, 0), (_sums["washbridge.alarm.open north High"], _sums["washbridge.alarm.open north Low"]));
        _historian.AppendEvents([Alarm(2, AlarmState.Unacknowledged, AlarmState.Acknowledged), Alarm(3, AlarmState.Acknowledged, AlarmState.Normal)]);
        counts.CatchUp();
        _listener.RecordObservableInstruments();
        Assert.Equal((0, 1, 1), (_sums["washbridge.alarm.open north High"], _sums["washbridge.alarm.changes north Acknowledged"], _sums["washbridge.alarm.changes north Normal"]));
    }

    [Fact]
    public void Records_are_counted_by_kind_and_without_the_keg()
    {
        var counts = Start();
        _historian.AppendEvents([new KegScanned { Id = "scan/1", Washer = "north", At = TimeBounds.At(Begin), Station = 1, KegId = "K-1" }]);
        counts.CatchUp();
        Assert.Equal(new Dictionary<string, long> { ["washbridge.records keg-scanned"] = 1 }, _sums);
    }

    private LogCounts Start() => new(_services.GetRequiredService<IMeterFactory>(), _historian, new HistorianSignal(), TimeProvider.System, NullLogger<LogCounts>.Instance);

    private static AlarmChanged Alarm(int number, AlarmState from, AlarmState to) => new()
    {
        Id = $"north/alarm/{number}",
        Washer = "north",
        At = TimeBounds.At(Begin + TimeSpan.FromMinutes(number)),
        Alarm = "drain-valve@2",
        From = from,
        To = to,
        Priority = AlarmPriority.High,
        Text = new AlarmText { What = "The drain valve is wearing.", Kegs = "They drain slowly.", LookAt = "The valve.", Caution = "Lock it out." },
    };
}
