using System.Diagnostics;
using System.Text.Json;
using WashBridge.Analysis;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Telemetry;

namespace WashBridge.Analysing;

/// <summary>
/// Follows the log of events and appends what the analysis of each washer finds in them. It has no clock. Its state can be megabytes, so that it is
/// saved rarely: after a kill it goes on from the last one saved, and what it finds again has the same ids, which the historian skips.
/// </summary>
internal sealed partial class AnalysisFollower
{
    public const string Name = "analysis";

    private const int BatchSize = 1000;
    private const int SaveAfterCycles = 2000;

    private static readonly TimeSpan SaveAfter = TimeSpan.FromDays(1);

    private readonly IHistorian _historian;
    private readonly ILogger _logger;
    private readonly Dictionary<string, WasherAnalysis> _analyses;
    private int _cyclesSinceSaved;
    private Instant? _savedAt;

    public AnalysisFollower(IHistorian historian, Site site, ILogger logger)
    {
        (_historian, _logger) = (historian, logger);
        _analyses = Make(site);
        if (historian.ReadFollower(Name) is { } saved && Restore(saved.State))
        {
            Cursor = saved.Sequence;
        }
        else
        {
            _analyses = Make(site);
        }
    }

    /// <summary>All events up to this sequence number are analysed.</summary>
    public long Cursor { get; private set; }

    /// <summary>Follows until cancelled, then saves its state.</summary>
    public async Task RunAsync(HistorianSignal signal, CancellationToken cancellation)
    {
        try
        {
            while (true)
            {
                var seen = signal.Last;
                CatchUp(signal, cancellation: cancellation);
                await signal.WaitAsync(seen, cancellation);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            CatchUp(signal, cancellation: CancellationToken.None);
            Save();
        }
    }

    /// <summary>Analyses all that is in the log. <paramref name="progress"/> hears the cursor after each batch.</summary>
    public void CatchUp(HistorianSignal? signal = null, Action<long>? progress = null, CancellationToken cancellation = default)
    {
        while (true)
        {
            cancellation.ThrowIfCancellationRequested();
            var last = _historian.LastSequence;
            if (last <= Cursor)
            {
                return;
            }

            var begun = Stopwatch.GetTimestamp();
            var entries = _historian.ReadEventLog(Cursor, BatchSize, AnalysisInputs.Kinds);
            using var span = entries.Count > 0 ? Traces.Follow("analyse", Name, signal?.Trail, Cursor, entries[^1].Sequence) : null;
            var findings = new List<WashEvent>();
            foreach (var entry in entries)
            {
                Take(entry.Event!, findings);
            }

            // A short page means that what follows, up to where the log ended before it was read, is of other kinds.
            Cursor = entries.Count == BatchSize ? entries[^1].Sequence : Math.Max(last, entries.Count > 0 ? entries[^1].Sequence : 0);
            Append(entries, findings, signal, span);
            if (entries.Count > 0)
            {
                AnalysisInstruments.Took(Name, begun);
            }

            progress?.Invoke(Cursor);
        }
    }

    public void Save()
    {
        _historian.AppendEvents([], State());
        _cyclesSinceSaved = 0;
    }

    private static Dictionary<string, WasherAnalysis> Make(Site site) => site.Washers.ToDictionary(w => w.Model.Washer, w => AnalysisFactory.Create(AnalysisInputs.Settings(w, site)), StringComparer.Ordinal);

    private void Take(WashEvent washEvent, List<WashEvent> findings)
    {
        if (_analyses.TryGetValue(washEvent.Washer, out var own))
        {
            findings.AddRange(own.Accept(washEvent));
            _cyclesSinceSaved += washEvent is CycleMeasured ? 1 : 0;
        }
        else if (washEvent.Washer == WashEvent.WholeSite)
        {
            foreach (var (washer, analysis) in _analyses.OrderBy(a => a.Key, StringComparer.Ordinal))
            {
                findings.AddRange(analysis.Accept(AnalysisInputs.ToldTo(washer, washEvent)));
            }
        }
    }

    private void Append(IReadOnlyList<LogEntry> entries, List<WashEvent> findings, HistorianSignal? signal, Activity? span)
    {
        if (entries.Count == 0)
        {
            return;
        }

        var now = entries[^1].Event!.At.Latest;
        _savedAt ??= now;
        var saving = _cyclesSinceSaved >= SaveAfterCycles || now - _savedAt.Value >= SaveAfter;
        if (saving || findings.Count > 0)
        {
            var last = _historian.AppendEvents(findings, saving ? State() : null);
            signal?.Trail.Add(last, span);
            signal?.Publish(last);
        }

        if (saving)
        {
            _cyclesSinceSaved = 0;
        }

        // A clock that was set back must not put off the next saving.
        _savedAt = saving || now < _savedAt ? now : _savedAt;
    }

    private FollowerState State() =>
        new(Name, Cursor, JsonSerializer.Serialize(new SortedDictionary<string, string>(_analyses.ToDictionary(a => a.Key, a => a.Value.Snapshot()), StringComparer.Ordinal)));

    /// <summary>A washer that is new has no state yet. False: the state is not one of this version, and all is analysed anew, which changes nothing that is stored.</summary>
    private bool Restore(string? state)
    {
        try
        {
            foreach (var (washer, snapshot) in JsonSerializer.Deserialize<Dictionary<string, string>>(state ?? "{}") ?? [])
            {
                if (_analyses.TryGetValue(washer, out var analysis))
                {
                    analysis.Restore(snapshot);
                }
            }

            return true;
        }
        catch (JsonException unreadable)
        {
            CannotRestore(_logger, unreadable.Message);
            return false;
        }
    }

    [LoggerMessage(EventId = 2201, Level = LogLevel.Warning, Message = "The state of the analysis is not of this version and all events are analysed anew: {Reason}")]
    private static partial void CannotRestore(ILogger logger, string reason);
}
