using System.Diagnostics.Metrics;
using WashBridge.Analysing;
using WashBridge.Core;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Telemetry;

/// <summary>
/// Counts cycles, verdicts, findings, alarms and records from the log itself, since the start of the service: each is counted when it is committed and once, however
/// often a stretch is folded again. Keg ids are never labels, and washers are those of the log.
/// </summary>
internal sealed partial class LogCounts : BackgroundService
{
    private const int BatchSize = 1000;

    /// <summary>Nobody looks at counts more often, and to be woken by every commit costs more than to count.</summary>
    private static readonly TimeSpan Gather = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(1);
    private static readonly HashSet<string> Findings = ["drift-found", "setpoint-deviated", "forecast-made"];
    private static readonly string[] Kinds = ["cycle-ended", "keg-judged", "alarm-changed", .. Findings, .. WashJson.RecordKinds];

    private readonly IHistorian _historian;
    private readonly HistorianSignal _signal;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly AlarmBoard _alarms;
    private readonly Lock _gate = new();
    private readonly Counter<long> _cycles;
    private readonly Counter<long> _verdicts;
    private readonly Counter<long> _findings;
    private readonly Counter<long> _alarmChanges;
    private readonly Counter<long> _records;
    private long _cursor;

    public LogCounts(IMeterFactory meters, IHistorian historian, HistorianSignal signal, TimeProvider time, ILogger<LogCounts> logger)
    {
        (_historian, _signal, _time, _logger) = (historian, signal, time, logger);
        _cursor = historian.LastSequence;
        _alarms = AlarmBoard.Read(historian);
        var meter = meters.Create(Measures.MeterName);
        _cycles = meter.CreateCounter<long>("washbridge.cycles", "{cycle}", "Cycles that ended, by how.");
        _verdicts = meter.CreateCounter<long>("washbridge.verdicts", "{verdict}", "Verdicts on kegs.");
        _findings = meter.CreateCounter<long>("washbridge.findings", "{finding}", "What the analysis found: drifts, settings off the recipe, forecasts.");
        _alarmChanges = meter.CreateCounter<long>("washbridge.alarm.changes", "{change}", "Changes of alarms, by the state they changed to.");
        _records = meter.CreateCounter<long>("washbridge.records", "{record}", "Records of what people decided, measured, did and told.");
        meter.CreateObservableGauge("washbridge.alarm.open", Open, "{alarm}", "Alarms that stand, or are over and not acknowledged.");
    }

    /// <summary>Counts all that is in the log.</summary>
    internal void CatchUp()
    {
        while (true)
        {
            var last = _historian.LastSequence;
            var entries = last > _cursor ? _historian.ReadEventLog(_cursor, BatchSize, Kinds) : [];
            foreach (var entry in entries)
            {
                Take(entry.Event!);
            }

            // As in AnalysisFollower: a short page means that the rest is of other kinds.
            _cursor = entries.Count == BatchSize ? entries[^1].Sequence : Math.Max(last, entries.Count > 0 ? entries[^1].Sequence : 0);
            if (entries.Count < BatchSize)
            {
                return;
            }
        }
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            while (true)
            {
                var seen = _signal.Last;
                try
                {
                    CatchUp();
                }
                catch (HistorianException failure) when (failure.IsTransient)
                {
                    CannotFollow(_logger, failure);
                    await Task.Delay(RetryAfter, _time, stoppingToken);
                    continue;
                }

                await Task.Delay(Gather, _time, stoppingToken);
                await _signal.WaitAsync(seen, stoppingToken);
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
        }
    }

    private void Take(WashEvent told)
    {
        var washer = Label(Measures.Washer, told.Washer);
        switch (told)
        {
            case CycleEnded ended:
                _cycles.Add(1, washer, Label("outcome", ended.Cycle.Outcome));
                break;
            case KegJudged judged:
                _verdicts.Add(1, washer, Label("verdict", judged.Verdict.Verdict));
                break;
            case AlarmChanged changed:
                _alarmChanges.Add(1, washer, Label("state", changed.To));
                lock (_gate)
                {
                    _alarms.Take(changed);
                }

                break;
        }

        var kind = WashJson.KindOf(told);
        if (Findings.Contains(kind))
        {
            _findings.Add(1, washer, Label("kind", kind));
        }
        else if (WashJson.RecordKinds.Contains(kind))
        {
            _records.Add(1, Label("kind", kind));
        }
    }

    /// <summary>A washer without alarms has zeros only once it had one: what there never was has no series.</summary>
    private List<Measurement<long>> Open()
    {
        lock (_gate)
        {
            var open = _alarms.Open.CountBy(a => (a.Washer, a.Priority)).ToDictionary();
            return [.. _alarms.All.Select(a => a.Washer).Distinct(StringComparer.Ordinal).SelectMany(w => Enum.GetValues<AlarmPriority>().Select(p =>
                new Measurement<long>(open.GetValueOrDefault((w, p)), Label(Measures.Washer, w), Label("priority", p))))];
        }
    }

    private static KeyValuePair<string, object?> Label<T>(string name, T value) => new(name, value?.ToString());

    [LoggerMessage(EventId = 2402, Level = LogLevel.Warning, Message = "The metrics cannot follow the log; tried again")]
    private static partial void CannotFollow(ILogger logger, Exception failure);
}
