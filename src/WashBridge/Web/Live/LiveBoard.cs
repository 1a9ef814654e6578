using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Web.Live;

/// <summary>
/// How every washer stands now: a fold of the log, kept in memory and begun anew from the log at every start. Pages read it without touching the file.
/// </summary>
internal sealed class LiveBoard : BackgroundService
{
    private const int BatchSize = 4096;

    /// <summary>How far back a cycle that runs can have begun, and a keg that is still at a station can have been judged.</summary>
    private static readonly TimeSpan LookBack = TimeSpan.FromHours(12);

    private readonly IHistorian _historian;
    private readonly HistorianSignal _signal;
    private readonly Lock _gate = new();
    private readonly Dictionary<string, WasherNow> _washers;
    private readonly AlarmBoard _alarms;
    private long _cursor;

    public LiveBoard(IHistorian historian, HistorianSignal signal, Site site)
    {
        (_historian, _signal) = (historian, signal);
        _washers = site.Washers.ToDictionary(w => w.Model.Washer, w => new WasherNow(w), StringComparer.Ordinal);
        _cursor = historian.LastSequence;
        _alarms = AlarmBoard.Read(historian);
        Recall();
    }

    /// <summary>A picture of one moment, which does not change any more.</summary>
    public IReadOnlyList<WasherNow> Washers
    {
        get
        {
            CatchUp();
            lock (_gate)
            {
                return [.. _washers.Values.Select(w => w.Copy())];
            }
        }
    }

    /// <summary>Alarms that stand or that nobody has acknowledged yet, the most urgent first.</summary>
    public IReadOnlyList<AlarmChanged> OpenAlarms
    {
        get
        {
            CatchUp();
            lock (_gate)
            {
                return [.. _alarms.Open];
            }
        }
    }

    /// <summary>Follows, so that a first reader after a long time need not wait for it.</summary>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        while (!stoppingToken.IsCancellationRequested)
        {
            var seen = _signal.Last;
            CatchUp();
            await _signal.WaitAsync(seen, stoppingToken).AsTask().ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.ExecuteSynchronously, TaskScheduler.Default);
        }
    }

    private void CatchUp()
    {
        lock (_gate)
        {
            while (_historian.ReadLog(_cursor, BatchSize) is { Count: > 0 } entries)
            {
                foreach (var entry in entries)
                {
                    Take(entry);
                }

                _cursor = entries[^1].Sequence;
            }
        }
    }

    private void Take(LogEntry entry)
    {
        if (entry.Event is AlarmChanged alarm)
        {
            _alarms.Take(alarm);
        }
        else if (_washers.GetValueOrDefault(entry.Event?.Washer ?? entry.Frame!.Washer) is { } washer)
        {
            if (entry.Frame is { } frame)
            {
                washer.Take(frame);
            }
            else
            {
                washer.Take(entry.Event!);
            }
        }
    }

    private void Recall()
    {
        foreach (var (id, washer) in _washers)
        {
            if (_historian.ReadEvents(new EventQuery { Washer = id, Kinds = ["cycle-ended", "cycle-started"], AtMost = null, From = Latest() - LookBack }).Count > 0)
            {
                foreach (var washEvent in _historian.ReadEvents(new EventQuery { Washer = id, From = Latest() - LookBack }))
                {
                    washer.Take(washEvent);
                }
            }
        }
    }

    private Core.Time.Instant Latest() => _historian.ReadLog(Math.Max(0, _cursor - 1), 1) is [var entry] ? entry.Event?.At.Latest ?? entry.Frame!.Read.Latest : new Core.Time.Instant(0);
}
