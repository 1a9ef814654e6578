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
/// Follows the log of events and appends what the analysis of each washer finds in them. It has no clock. A washer's state can be a megabyte and more, so that it is
/// saved rarely, and washer by washer, so that a site of hundreds never writes all at once: after a kill each goes on from its own last one saved, and what is found again
/// has the same ids, which the historian skips.
/// </summary>
internal sealed partial class AnalysisFollower
{
    public const string Name = "analysis";

    private const int BatchSize = 1000;
    private const int SaveAfterCycles = 200;

    /// <summary>Before the names of the washers whose states have rows of their own. No JSON: a program that kept all states in one row finds none of its own, and analyses all anew.</summary>
    private const string SavedByWasher = "washers";

    private static readonly TimeSpan SaveAfter = TimeSpan.FromDays(1);

    private readonly IHistorian _historian;
    private readonly ILogger _logger;
    private readonly Dictionary<string, Part> _parts;
    private readonly FoldGate? _gate;
    private long _settled;

    /// <param name="gate">How far it may look; null: as far as the log goes.</param>
    public AnalysisFollower(IHistorian historian, Site site, ILogger logger, FoldGate? gate = null)
    {
        (_historian, _logger, _gate) = (historian, logger, gate);
        var whole = historian.ReadFollower(Name);
        var saved = whole?.State?.Split(' ') is [SavedByWasher, .. var names] ? names : [];
        if (whole is not null && saved.Length == 0)
        {
            CannotRestore(logger, "all washers", "it was saved by another version");
        }

        var stands = saved.Length > 0 ? whole!.Sequence : 0;
        _parts = site.Washers.ToDictionary(w => w.Model.Washer, w => Load(w, site, saved.Contains(w.Model.Washer) ? 0 : stands), StringComparer.Ordinal);
        foreach (var gone in saved.Where(s => !_parts.ContainsKey(s)))
        {
            // Its row would hold retention up for ever.
            historian.RemoveFollower(RowOf(gone));
        }

        Cursor = _parts.Values.Min(p => p.From);
    }

    /// <summary>All events up to this sequence number are analysed.</summary>
    public long Cursor { get; private set; }

    /// <summary>Where a washer's state is kept: a washer's id has no slash.</summary>
    public static string RowOf(string washer) => $"{Name}/{washer}";

    /// <summary>What follows from all events up to this sequence number is in the log.</summary>
    public long Settled => Volatile.Read(ref _settled);

    /// <summary>Follows until cancelled, then saves its state.</summary>
    public async Task RunAsync(HistorianSignal signal, CancellationToken cancellation)
    {
        try
        {
            while (true)
            {
                var (seen, moved) = (signal.Last, _gate?.Moved);
                CatchUp(signal, cancellation: cancellation);
                await FoldGate.WaitAsync(signal, seen, moved, cancellation);
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
            var last = Math.Min(_historian.LastSequence, _gate?.Events ?? long.MaxValue);
            if (last <= Cursor)
            {
                Volatile.Write(ref _settled, Cursor);
                return;
            }

            var begun = Stopwatch.GetTimestamp();
            var page = _historian.ReadEventLog(Cursor, BatchSize, AnalysisInputs.Kinds);
            var entries = _gate is null ? page : [.. page.TakeWhile(e => e.Sequence <= last)];
            using var span = entries.Count > 0 ? Traces.Follow("analyse", Name, signal?.Trail, Cursor, entries[^1].Sequence) : null;
            var findings = new List<WashEvent>();
            foreach (var entry in entries)
            {
                Take(entry, findings);
            }

            // A short page means that what follows, up to where the log ended before it was read, is of other kinds.
            Cursor = entries.Count == BatchSize ? entries[^1].Sequence : Math.Max(last, entries.Count > 0 ? entries[^1].Sequence : 0);
            Append(entries, findings, signal, span);
            Volatile.Write(ref _settled, Cursor);
            if (entries.Count > 0)
            {
                AnalysisInstruments.Took(Name, begun);
            }

            progress?.Invoke(Cursor);
        }
    }

    /// <summary>Saves what has changed.</summary>
    public void Save() => Save(_parts.Values.Where(p => p.HasChanged || !p.HasRow));

    private static WasherAnalysis Make(WasherConfiguration washer, Site site) => AnalysisFactory.Create(AnalysisInputs.Settings(washer, site));

    private void Take(LogEntry entry, List<WashEvent> findings)
    {
        var washEvent = entry.Event!;
        if (_parts.TryGetValue(washEvent.Washer, out var own))
        {
            Take(own, washEvent, entry.Sequence, findings);
        }
        else if (washEvent.Washer == WashEvent.WholeSite)
        {
            foreach (var (washer, part) in _parts.OrderBy(p => p.Key, StringComparer.Ordinal))
            {
                Take(part, AnalysisInputs.ToldTo(washer, washEvent), entry.Sequence, findings);
            }
        }
    }

    private static void Take(Part part, WashEvent washEvent, long sequence, List<WashEvent> findings)
    {
        if (sequence <= part.From)
        {
            return;
        }

        findings.AddRange(part.Analysis.Accept(washEvent));
        part.HasChanged = true;
        part.CyclesSinceSaved += washEvent is CycleMeasured ? 1 : 0;
    }

    private void Append(IReadOnlyList<LogEntry> entries, List<WashEvent> findings, HistorianSignal? signal, Activity? span)
    {
        if (entries.Count == 0)
        {
            return;
        }

        if (findings.Count > 0)
        {
            var last = _historian.AppendEvents(findings);
            signal?.Trail.Add(last, span);
            signal?.Publish(last);
        }

        var now = entries[^1].Event!.At.Latest;
        var due = _parts.Values.Where(p => p.IsDue(now)).ToList();
        if (due.Count > 0)
        {
            Save(due.Union(_parts.Values.Where(p => !p.HasRow)), now);
        }
    }

    /// <summary>Each in a transaction of its own. The row of the whole comes last: it vouches that the others are there.</summary>
    private void Save(IEnumerable<Part> parts, Instant? now = null)
    {
        foreach (var part in parts.ToList())
        {
            _historian.AppendEvents([], new FollowerState(RowOf(part.Washer), Math.Max(Cursor, part.From), part.Analysis.Snapshot()));
            part.Saved(now);
        }

        _historian.AppendEvents([], new FollowerState(Name, Cursor, string.Join(' ', _parts.Keys.Order(StringComparer.Ordinal).Prepend(SavedByWasher))));
    }

    /// <summary>What is saved of a washer. One whose state is not of this version begins anew, which changes nothing that is stored.</summary>
    /// <param name="begin">Where a washer begins of which nothing is saved: where the site stands if it is new to it.</param>
    private Part Load(WasherConfiguration washer, Site site, long begin)
    {
        var (id, analysis) = (washer.Model.Washer, Make(washer, site));
        if (_historian.ReadFollower(RowOf(id)) is not { } saved)
        {
            return new Part(id, analysis, begin, hasRow: false);
        }

        try
        {
            analysis.Restore(saved.State ?? "");
            return new Part(id, analysis, saved.Sequence, hasRow: true);
        }
        catch (JsonException unreadable)
        {
            CannotRestore(_logger, id, unreadable.Message);
            return new Part(id, Make(washer, site), 0, hasRow: false);
        }
    }

    [LoggerMessage(EventId = 2201, Level = LogLevel.Warning, Message = "{Washer}: the state of the analysis is not of this version and all events are analysed anew: {Reason}")]
    private static partial void CannotRestore(ILogger logger, string washer, string reason);

    /// <summary>One washer's analysis, and what of it is saved.</summary>
    /// <param name="washer">Its id.</param>
    /// <param name="analysis">As it was saved, or new.</param>
    /// <param name="from">It has seen all events up to this sequence number.</param>
    /// <param name="hasRow">Something of it is saved.</param>
    private sealed class Part(string washer, WasherAnalysis analysis, long from, bool hasRow)
    {
        private Instant? _savedAt;

        public string Washer => washer;

        public WasherAnalysis Analysis => analysis;

        public long From => from;

        public bool HasRow { get; private set; } = hasRow;

        public bool HasChanged { get; set; }

        public int CyclesSinceSaved { get; set; }

        /// <summary>A clock that was set back must not put off the next saving.</summary>
        public bool IsDue(Instant now)
        {
            _savedAt = _savedAt is null || now < _savedAt ? now : _savedAt;
            return CyclesSinceSaved >= SaveAfterCycles || now - _savedAt.Value >= SaveAfter;
        }

        public void Saved(Instant? now) => (HasRow, HasChanged, CyclesSinceSaved, _savedAt) = (true, false, 0, now ?? _savedAt);
    }
}
