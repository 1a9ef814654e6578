using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Analysis.Statistics;
using WashBridge.Core.Drift;

namespace WashBridge.Analysis.Charts;

/// <summary>
/// The charts of one watched figure of one washer. They promise one false alarm in so many values, whatever the figure's distribution, resolution and memory; see CHARTS.md
/// beside this file. Memory is bounded.
/// </summary>
public sealed class FeatureChart
{
    // A strongly autocorrelated figure needs a longer reference before anything can be said.
    private const double LeastIndependent = 25;
    private const int MostSkipped = 50;

    // Share of its limit at which a chart stands high.
    private const double High = 0.3;

    private readonly ulong _keyHash;
    private readonly ChartReference _reference;
    private readonly RecentScores _recent = new();
    private readonly PendingValues _pending = new();
    private readonly List<float> _uncertainties = [];
    private ChartDesign? _design;
    private Ewma? _ewma;
    private Cusum? _narrow;
    private Cusum? _wide;
    private DriftState? _drift;
    private double _usualUncertainty = double.PositiveInfinity;
    private int _skipped;
    private bool _standsHigh;
    private (int Count, bool Stands, bool Waits, AutoRegression Memory, ChartDesign Design) _limitsState;
    private (double Slow, double Small, double Large) _limits;

    /// <param name="key">The figure's key: decides the lots that are drawn where values tie.</param>
    public FeatureChart(string key)
    {
        Key = key;
        _keyHash = DeterministicHash.Of(key);
        _reference = new ChartReference(_keyHash);
    }

    public string Key { get; }

    public bool IsDrifting => _drift is not null;

    /// <summary>Values in the reference.</summary>
    public int ReferenceCycles => _reference.Count;

    /// <summary>Robust standard deviation of single values of the reference; 0 before there is one.</summary>
    public double ReferenceSpread
    {
        get
        {
            _reference.Describe();
            return _reference.Spread;
        }
    }

    /// <summary>What is told while nothing has been promised yet is nothing.</summary>
    public double? FalseAlarmEvery => _design?.Every;

    /// <summary>Score of the last value, standard normal in control; NaN before there is a reference.</summary>
    internal double LastScore { get; private set; } = double.NaN;

    /// <summary>The last value has a score that can be relied on.</summary>
    internal bool HasScore => !double.IsNaN(LastScore) && _reference.IndependentCount >= LeastIndependent && !_reference.IsBound;

    /// <summary>Sets the promise: one false alarm in so many values.</summary>
    /// <param name="every">100 to 1e9.</param>
    public void Promise(double every)
    {
        if (_design?.Every != every)
        {
            Promise(new ChartDesign(every));
        }
    }

    internal void Promise(ChartDesign design)
    {
        _design = design;
        var (ewma, narrow, wide) = (_ewma, _narrow, _wide);
        BeginCharts();
        if (ewma is not null)
        {
            (_ewma!.Value, _narrow!.Upper, _narrow.Lower, _wide!.Upper, _wide.Lower) = (ewma.Value, narrow!.Upper, narrow.Lower, wide!.Upper, wide.Lower);
        }
    }

    /// <summary>Begins a new reference: maintenance, another recipe.</summary>
    public void Restart()
    {
        _reference.Clear();
        _recent.Clear();
        _pending.Clear();
        _uncertainties.Clear();
        (_drift, _usualUncertainty, _skipped, LastScore) = (null, double.PositiveInfinity, 0, double.NaN);
        BeginCharts();
    }

    /// <summary>All that is remembered, as JSON.</summary>
    public string Snapshot() => JsonSerializer.Serialize(Save(), ChartsJson.Default.FeatureChartState);

    /// <exception cref="JsonException"><paramref name="snapshot"/> is not of a chart.</exception>
    public void Restore(string snapshot) =>
        Load(JsonSerializer.Deserialize(snapshot, ChartsJson.Default.FeatureChartState) ?? throw new JsonException("a snapshot cannot be null"));

    internal FeatureChartState Save() => new(
        _design?.Every, _reference.Save(), [_ewma?.Value ?? 0, _narrow?.Upper ?? 0, _narrow?.Lower ?? 0, _wide?.Upper ?? 0, _wide?.Lower ?? 0],
        _recent.SaveCycles(), _recent.SaveValues(), _recent.SaveScores(), Blob.Of(_uncertainties), _usualUncertainty, _skipped, _drift?.Told, _drift?.Save(), LastScore, _pending.Save(), _standsHigh);

    /// <param name="state">What <see cref="Save"/> gave.</param>
    /// <param name="design">Of the state's promise, where it is at hand already.</param>
    internal void Load(FeatureChartState state, ChartDesign? design = null)
    {
        _design = state.Every is not { } every ? null : design?.Every == every ? design : new ChartDesign(every);
        _reference.Load(state.Reference);
        BeginCharts();
        (_ewma!.Value, _narrow!.Upper, _narrow.Lower, _wide!.Upper, _wide.Lower) = (state.Charts[0], state.Charts[1], state.Charts[2], state.Charts[3], state.Charts[4]);
        _recent.Load(state.RecentCycles, state.RecentValues, state.RecentScores);
        _pending.Load(state.Pending);
        _standsHigh = state.StandsHigh;
        _uncertainties.Clear();
        _uncertainties.AddRange(Blob.Floats(state.Uncertainties));
        (_usualUncertainty, _skipped, LastScore) = (state.UsualUncertainty, state.Skipped, state.LastScore);
        _drift = state.Told is null ? null : new DriftState(state.Told.Direction) { Told = state.Told };
        _drift?.Load(state.Drift!);
    }

    /// <summary>Takes the next value; missing ones are simply not given.</summary>
    /// <param name="cycle">Number of the cycle; grows.</param>
    /// <param name="cycleHash">Follows from the cycle's id alone.</param>
    /// <param name="value">Finite; kept in single precision.</param>
    /// <param name="uncertainty">Standard uncertainty: a value known much worse than usual and worse than values differ is passed over.</param>
    /// <returns>Mostly null.</returns>
    public ChartNews? Accept(int cycle, ulong cycleHash, double value, double uncertainty = 0)
    {
        if (!double.IsFinite(value))
        {
            throw new ArgumentOutOfRangeException(nameof(value), value, "a figure must be finite; a missing one is not given");
        }

        if (IsTooUncertain(uncertainty))
        {
            LastScore = double.NaN;
            return null;
        }

        var single = (float)value;
        var lot = DeterministicHash.Combine(cycleHash, _keyHash);
        var smooth = _reference.Smoothed(single, lot);
        var news = _reference.IsReady ? Judge(cycle, lot, single, smooth) : Learn(single);

        _reference.Follow(smooth);
        return news;
    }

    private ChartSignal? Learn(float value)
    {
        _reference.Add(value, value, 0, _design?.TailProbability ?? 0);
        return null;
    }

    private ChartNews? Judge(int cycle, ulong lot, float value, float smooth)
    {
        var residual = _reference.Residual(smooth);
        LastScore = _reference.Score(residual, lot);
        if (_drift is not null)
        {
            return GoOn(value);
        }

        _recent.Add(cycle, value, LastScore);

        if (_design is not null && _reference.IndependentCount >= LeastIndependent && !_reference.IsBound && Signal(residual) is { } signal)
        {
            return Begin(signal.Kind, signal.Direction);
        }

        Keep(value, smooth, residual);
        return null;
    }

    private void Keep(float value, float smooth, float residual)
    {
        if (_reference.Stands)
        {
            return;
        }

        _pending.Add(value, smooth, residual);
        if (!_standsHigh || _pending.Count > PendingValues.Most)
        {
            _pending.MoveTo(_reference, _standsHigh ? 1 : _pending.Count, _design?.TailProbability ?? 0);
        }
    }

    private (ChartKind Kind, int Direction)? Signal(float residual)
    {
        var (slow, small, large) = Limits();
        var ewma = _ewma!.Add(LastScore, slow);
        var narrow = _narrow!.Add(LastScore, small);
        var wide = _wide!.Add(LastScore, large);
        _standsHigh = Math.Abs(_ewma.Value) > High * slow * EwmaRunLength.Deviation(ChartDesign.Lambda)
            || Math.Max(_narrow.Upper, _narrow.Lower) > High * small || Math.Max(_wide.Upper, _wide.Lower) > High * large;
        var single = residual > _reference.Tails.High ? 1 : residual < _reference.Tails.Low ? -1 : 0;
        return single != 0 ? (ChartKind.Individuals, single)
            : wide != 0 ? (ChartKind.Cusum, wide)
            : narrow != 0 ? (ChartKind.Cusum, narrow)
            : ewma != 0 ? (ChartKind.Ewma, ewma)
            : null;
    }

    // They change only while the reference grows, or begins or ends to wait.
    private (double Slow, double Small, double Large) Limits()
    {
        var state = (_reference.Count, _reference.Stands, _standsHigh, _reference.Memory, _design!);
        if (_limitsState != state)
        {
            _limitsState = state;
            var widening = new LimitWidening(_reference.Count, _reference.Memory.Coefficients.Length, _reference.Memory.Memory, _reference.Stands, _standsHigh);
            _limits = (
                widening.Ewma(_design!.EwmaLimit, ChartDesign.Lambda),
                widening.Cusum(_design.NarrowLimit, ChartDesign.NarrowK),
                widening.Cusum(_design.WideLimit, ChartDesign.WideK));
        }

        return _limits;
    }

    private ChartSignal Begin(ChartKind kind, int direction)
    {
        var onset = kind == ChartKind.Individuals ? new OnsetEstimate(_recent.Count - 1, _recent.Count - 1, _recent.Count - 1) : OnsetEstimate.Of(_recent, direction);
        var count = _recent.Count - onset.Best;

        // Of the values since then some wait and some are in the reference; the newest is in neither.
        _reference.TakeBack(count - 1 - _pending.Count);
        _pending.MoveTo(_reference, Math.Max(0, _pending.Count - (count - 1)), _design!.TailProbability);
        _pending.Clear();
        _reference.Describe();
        var (score, mean) = MeansSince(onset.Best);
        var change = mean - _reference.Mean;

        var uncertainty = _reference.LongRunSpread * Math.Sqrt((1.0 / count) + (1.0 / _reference.Count));
        var signal = new ChartSignal
        {
            Kind = kind, Direction = direction, Centre = _reference.Centre, Spread = _reference.Spread, ReferenceCycles = _reference.Count,
            Size = change, SizeUncertainty = uncertainty,
            Onset = _recent.CycleAt(onset.Best), OnsetEarliest = _recent.CycleAt(onset.Earliest), OnsetLatest = _recent.CycleAt(onset.Latest), ValuesSince = count,
        };
        _drift = new DriftState(direction) { Told = signal };
        _drift.Begin(score, count, signal.Size);
        return signal;
    }

    private ChartNews? GoOn(float value)
    {
        if (_drift!.Add(LastScore, value - _reference.Mean))
        {
            _drift = null;
            _recent.Clear();
            BeginCharts();
            return new ChartReturn();
        }

        if (!_drift.IsWorse(_reference.LongRunSpread))
        {
            return null;
        }

        var told = _drift.Told;
        _drift.Told = told with { Size = _drift.Level, SizeUncertainty = DriftState.LevelUncertainty(_reference.LongRunSpread), ValuesSince = _drift.Count, IsWorse = true };
        return _drift.Told;
    }

    private (double Score, double Value) MeansSince(int index)
    {
        double scores = 0, values = 0;
        for (var i = index; i < _recent.Count; i++)
        {
            scores += _recent.ScoreAt(i);
            values += _recent.ValueAt(i);
        }

        var count = _recent.Count - index;
        return (scores / count, values / count);
    }

    private void BeginCharts()
    {
        _standsHigh = false;
        _ewma = new Ewma(ChartDesign.Lambda, _design?.EwmaLimit ?? 0);
        _narrow = new Cusum(ChartDesign.NarrowK, _design?.NarrowLimit ?? 0);
        _wide = new Cusum(ChartDesign.WideK, _design?.WideLimit ?? 0);
    }

    private bool IsTooUncertain(double uncertainty)
    {
        if (_uncertainties.Count < ChartReference.Least)
        {
            _uncertainties.Add((float)uncertainty);
            if (_uncertainties.Count == ChartReference.Least)
            {
                _usualUncertainty = Robust.Median(_uncertainties.Select(u => (double)u));
            }

            return false;
        }

        // Many in a row are no exception: the way of measuring has changed.
        _skipped = uncertainty > 3 * _usualUncertainty && uncertainty > _reference.Spread ? _skipped + 1 : 0;
        return _skipped > 0 && _skipped <= MostSkipped;
    }
}

/// <summary>What a chart remembers.</summary>
internal sealed record FeatureChartState(
    double? Every, ReferenceState Reference, double[] Charts, string RecentCycles, string RecentValues, string RecentScores, string Uncertainties, double UsualUncertainty, int Skipped,
    ChartSignal? Told, double[]? Drift, double LastScore, string[] Pending, bool StandsHigh);

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull)]
[JsonSerializable(typeof(FeatureChartState))]
[JsonSerializable(typeof(DriftWatchState))]
internal sealed partial class ChartsJson : JsonSerializerContext;
