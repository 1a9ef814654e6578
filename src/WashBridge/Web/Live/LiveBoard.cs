using System.Collections.Immutable;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Web.Live;

/// <summary>
/// How every washer stands now: a fold of the log, kept in memory and begun anew from the log at every start. It follows by itself; pages only look at it, so
/// that it costs the same however many there are.
/// </summary>
internal sealed partial class LiveBoard : BackgroundService
{
    private const int BatchSize = 4096;
    private const int MostStrangers = 50;
    private const int LastEntries = 500;

    /// <summary>What comes within so long is taken together.</summary>
    private static readonly TimeSpan Gather = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(1);

    private readonly IHistorian _historian;
    private readonly HistorianSignal _signal;
    private readonly ILogger _logger;
    private readonly Lock _gate = new();
    private readonly List<WasherFold> _folds;
    private readonly Dictionary<string, WasherFold> _byId;
    private readonly AlarmBoard _alarms;
    private readonly SortedSet<string> _strangers = new(StringComparer.Ordinal);
    private ImmutableArray<AlarmChanged>? _open;
    private long _cursor;

    public LiveBoard(IHistorian historian, HistorianSignal signal, Site site, ILogger<LiveBoard> logger)
    {
        (_historian, _signal, _logger) = (historian, signal, logger);
        _cursor = historian.LastSequence;
        var end = End();
        _folds = [.. site.Washers.Select(w => Recall.Of(w, historian, end))];
        _byId = _folds.ToDictionary(f => f.Now.Id, StringComparer.Ordinal);
        _alarms = AlarmBoard.Read(historian);
    }

    /// <summary>In the order of the site's file. A picture of one moment, which does not change any more.</summary>
    public IReadOnlyList<WasherNow> Washers
    {
        get
        {
            lock (_gate)
            {
                return [.. _folds.Select(f => f.Now)];
            }
        }
    }

    /// <summary>Alarms that stand or that nobody has acknowledged yet, the most urgent first.</summary>
    public IReadOnlyList<AlarmChanged> OpenAlarms
    {
        get
        {
            lock (_gate)
            {
                return _open ??= [.. _alarms.Open];
            }
        }
    }

    /// <summary>Shelved, suppressed by design, or out of service.</summary>
    public IReadOnlyList<AlarmChanged> AlarmsAside
    {
        get
        {
            lock (_gate)
            {
                return [.. _alarms.Aside];
            }
        }
    }

    /// <summary>Washers that the log tells of and the site does not have, by id; the first fifty.</summary>
    public IReadOnlyList<string> Strangers
    {
        get
        {
            lock (_gate)
            {
                return [.. _strangers];
            }
        }
    }

    /// <summary>All entries up to this place in the log are on the pages.</summary>
    public long Cursor
    {
        get
        {
            lock (_gate)
            {
                return _cursor;
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
                var wait = Gather;
                try
                {
                    CatchUp();
                }
                catch (HistorianException failure) when (failure.IsTransient)
                {
                    CannotFollow(_logger, failure);
                    (seen, wait) = (-1, RetryAfter);
                }

                await Task.Delay(wait, TimeProvider.System, stoppingToken);
                await _signal.WaitAsync(seen, stoppingToken);
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
        }
    }

    /// <summary>Takes all that is in the log.</summary>
    internal void CatchUp()
    {
        while (_historian.ReadLog(_cursor, BatchSize) is { Count: > 0 } entries)
        {
            lock (_gate)
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
            _open = null;
            return;
        }

        var id = entry.Event?.Washer ?? entry.Frame!.Washer;
        if (!_byId.TryGetValue(id, out var fold))
        {
            if (_strangers.Count < MostStrangers)
            {
                _strangers.Add(id);
            }
        }
        else if (entry.Frame is { } frame)
        {
            fold.Take(frame);
        }
        else
        {
            fold.Take(entry.Event!);
        }
    }

    /// <summary>The latest time that the last entries tell: an event can be of long before it was told.</summary>
    private Instant End() => _historian.ReadLog(Math.Max(0, _cursor - LastEntries), LastEntries)
        .Select(e => e.Event?.At.Latest ?? e.Frame!.Read.Latest)
        .DefaultIfEmpty(new Instant(0))
        .Max();

    [LoggerMessage(EventId = 2401, Level = LogLevel.Warning, Message = "The pages cannot follow the log and show what they knew; tried again")]
    private static partial void CannotFollow(ILogger logger, Exception failure);
}
