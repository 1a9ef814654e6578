using System.Diagnostics;
using System.Text.Json;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Recipes;
using WashBridge.Telemetry;

namespace WashBridge.Pipeline;

/// <summary>
/// Follows the log of frames, folds them into events, and judges and measures each cycle that ends, by the version of its recipe that was in force when the cycle began, as
/// the log had it by then. It has no clock: what it appends depends on the log and the configuration alone, so that a restart or a replay gives the same events. Ids repeat when a stretch is folded again, and the
/// historian skips what it has; therefore the state need not be saved with every batch.
/// </summary>
internal sealed class Analyst
{
    public const string Name = "analyst";
    private const int BatchSize = 4096;

    /// <summary>Behind a washer's id, which has no slash: where its silence is kept beside its segmenter.</summary>
    private const string SilenceSuffix = "/silence";

    /// <summary>How much log may have to be folded again after a kill, in frames' own time. The state is some 20 kB a washer: saved every 10 s, it was a fifth of all that 250 washers wrote to the disk.</summary>
    private static readonly TimeSpan SaveEvery = TimeSpan.FromMinutes(1);

    private readonly IHistorian _historian;
    private readonly FoldGate? _gate;
    private readonly Dictionary<string, Desk> _desks;
    private readonly RecipeLog _recipes;
    private Instant _savedAt = new(long.MinValue);
    private long _settled;

    /// <param name="gate">How far it may fold; null: as far as the log goes.</param>
    public Analyst(IHistorian historian, IReadOnlyList<WasherConfiguration> washers, FoldGate? gate = null)
    {
        (_historian, _gate) = (historian, gate);
        _recipes = new RecipeLog(historian, washers.SelectMany(w => w.Recipes));
        var saved = historian.ReadFollower(Name);
        Settled = Cursor = saved?.Sequence ?? 0;
        var states = saved?.State is { } text ? JsonSerializer.Deserialize<Dictionary<string, JsonElement>>(text)! : [];
        _desks = washers.ToDictionary(w => w.Model.Washer, w => new Desk(
            w,
            states.TryGetValue(w.Model.Washer, out var state) ? state.GetRawText() : null,
            states.TryGetValue(w.Model.Washer + SilenceSuffix, out var silence) ? silence.Deserialize<SilenceState>() : null));
    }

    /// <summary>All frames up to this sequence number are folded.</summary>
    public long Cursor { get; private set; }

    /// <summary>What follows from all frames up to this sequence number is in the log.</summary>
    public long Settled { get => Volatile.Read(ref _settled); private set => Volatile.Write(ref _settled, value); }

    /// <summary>Follows until cancelled, then saves its state.</summary>
    public async Task RunAsync(HistorianSignal signal, CancellationToken cancellation)
    {
        try
        {
            while (true)
            {
                // Events move the log as well: wait for what comes after all that was there, not after the last frame.
                var (seen, moved) = (signal.Last, _gate?.Moved);
                CatchUp(signal);
                await FoldGate.WaitAsync(signal, seen, moved, cancellation);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            CatchUp(signal);
            Save();
        }
    }

    /// <summary>Folds all that is in the log. <paramref name="progress"/> hears the cursor after each batch.</summary>
    public void CatchUp(HistorianSignal? signal = null, Action<long>? progress = null)
    {
        while (true)
        {
            var end = Math.Min(_historian.LastSequence, _gate?.Frames ?? long.MaxValue);
            if (Upto(end) is not { Count: > 0 } entries)
            {
                Settled = Math.Max(Settled, end);
                return;
            }

            var begun = Stopwatch.GetTimestamp();
            using var span = Traces.Follow("analyse", Name, signal?.Trail, Cursor, entries[^1].Sequence);
            _recipes.ReadTo(entries[^1].Sequence);
            var events = new List<WashEvent>();
            foreach (var entry in entries)
            {
                if (_gate?.IsLeftOut(entry.Sequence) != true)
                {
                    Take(entry.Frame!, entry.Sequence, events);
                }

                Cursor = entry.Sequence;
            }

            var now = entries[^1].Frame!.Read.Latest;
            var saving = now < _savedAt || now >= _savedAt + SaveEvery;
            if (saving || events.Count > 0)
            {
                var last = _historian.AppendEvents(events, saving ? State() : null);
                _savedAt = saving ? now : _savedAt;
                signal?.Trail.Add(last, span);
                signal?.Publish(last);
            }

            Settled = Cursor;
            AnalysisInstruments.Took(Name, begun);
            progress?.Invoke(Cursor);
        }
    }

    private IReadOnlyList<LogEntry> Upto(long end)
    {
        if (end <= Cursor)
        {
            return [];
        }

        var entries = _historian.ReadLog(Cursor, BatchSize, LogContent.Frames);
        return entries.Count > 0 && entries[^1].Sequence > end ? [.. entries.TakeWhile(e => e.Sequence <= end)] : entries;
    }

    public void Save() => _historian.AppendEvents([], State());

    private FollowerState State()
    {
        using var buffer = new MemoryStream();
        using (var json = new Utf8JsonWriter(buffer))
        {
            json.WriteStartObject();
            foreach (var (washer, desk) in _desks.OrderBy(d => d.Key, StringComparer.Ordinal))
            {
                json.WritePropertyName(washer);
                json.WriteRawValue(desk.Segmenter.Snapshot());
                json.WritePropertyName(washer + SilenceSuffix);
                JsonSerializer.Serialize(json, desk.Silence.State);
            }

            json.WriteEndObject();
        }

        return new FollowerState(Name, Cursor, System.Text.Encoding.UTF8.GetString(buffer.ToArray()));
    }

    private void Take(Frame frame, long sequence, List<WashEvent> events)
    {
        if (!_desks.TryGetValue(frame.Washer, out var desk))
        {
            return;
        }

        var before = events.Count;
        foreach (var washEvent in desk.Segmenter.Accept(frame))
        {
            events.Add(washEvent);
            if (washEvent is CycleEnded ended)
            {
                Examine(ended.Cycle, desk, _recipes.At(sequence), events);
            }
        }

        if (desk.Silence.Take(frame, events.Count > before) is { } passed)
        {
            events.Add(passed);
        }
    }

    /// <summary>A verdict for each keg, then the figures of the cycle: both from the same frames.</summary>
    private void Examine(CycleRecord cycle, Desk desk, RecipeBook book, List<WashEvent> events)
    {
        var evidence = CycleEvidence.Read(_historian, cycle, desk.Lead, events);
        var recipe = book.InForce(desk.Configuration.RecipeFor(cycle.Programme), cycle.Start.Earliest.Wall);
        var verdicts = Judge.Decide(cycle, evidence.JudgedFrames, recipe, evidence.Scans);
        events.AddRange(verdicts.Select(verdict => new KegJudged
        {
            Id = $"{cycle.Id}/s{verdict.Station}/judged/{verdict.Recipe}/{verdict.RecipeVersion}",
            Washer = cycle.Washer,
            CycleId = cycle.Id,
            At = cycle.End.Wall,
            Verdict = verdict,
        }));
        events.Add(new CycleMeasured
        {
            Id = $"{cycle.Id}/measured",
            Washer = cycle.Washer,
            CycleId = cycle.Id,
            At = cycle.End.Wall,
            Features = FeatureExtractor.Of(cycle, evidence.Frames, recipe, [.. verdicts.Select(v => new WashedKeg(v.Station, v.KegId))], evidence.Rested, desk.DeadBandOf),
        });
    }

    private sealed class Desk(WasherConfiguration washer, string? state, SilenceState? silence)
    {
        private readonly Dictionary<Signal, double> _deadBands = washer.Tags.ToDictionary(t => t.Signal, DeadBands.Of);

        public WasherConfiguration Configuration { get; } = washer;

        /// <summary>So long before a moment every group had a full frame.</summary>
        public TimeSpan Lead { get; } = washer.Groups.Max(g => g.Heartbeat);

        public double DeadBandOf(Signal signal) => _deadBands.GetValueOrDefault(signal);

        public Segmenter Segmenter { get; } = state is null ? new Segmenter(washer.Model) : Segmenter.Restore(washer.Model, state);

        public SilenceBreaker Silence { get; } = new(silence);
    }
}
