using MathNet.Numerics.LinearAlgebra;
using WashBridge.Analysis.Statistics;
using WashBridge.Core.Drift;

namespace WashBridge.Analysis.Charts;

/// <summary>
/// Several figures watched together: a multivariate moving average of their scores (Lowry, Woodall, Champ and Rigdon 1992), which sees small changes that several of them share, and
/// changes against the way in which they usually go together. It stands still while one of them drifts by itself.
/// </summary>
internal sealed class FigureGroup
{
    private const double Weight = 0.08;
    private const int MostRemembered = 400;
    private const int Least = 200;
    private const int Most = 4000;

    // Correlations below their own standard error are mostly chance: drawn towards none as far as the reference is short.
    private const double ShrinkingCycles = 50;
    private const double LeastShare = 0.01;

    private static readonly ChartSignal Untold = new()
    {
        Kind = ChartKind.Group, Direction = 1, Centre = 0, Spread = 1, ReferenceCycles = 0, Size = 0, SizeUncertainty = 0, Onset = 0, OnsetEarliest = 0, OnsetLatest = 0, ValuesSince = 0,
    };

    private readonly string[] _members;
    private readonly double[] _average;
    private readonly double[] _products;
    private readonly List<(int Cycle, float[] Scores)> _recent = [];
    private int _count;
    private int _nextFit = Least;
    private int _fitCount;
    private double[] _fitted = [];
    private double _limit = double.PositiveInfinity;
    private double _every;
    private Matrix<double>? _inverse;
    private DriftState? _drift;
    private double[] _direction = [];

    public FigureGroup(string key, string[] members)
    {
        Key = key;
        _members = members;
        _average = new double[members.Length];
        _products = new double[members.Length * members.Length];
    }

    public string Key { get; }

    public IReadOnlyList<string> Members => _members;

    /// <summary>The members themselves, once the watch has looked them up.</summary>
    public WatchedFigure[]? Figures { get; set; }

    public bool IsDrifting => _drift is not null;

    /// <summary>Number of the cycle in which it was last given scores: all members must have newer ones.</summary>
    public int LastCharted { get; private set; } = -1;

    /// <param name="every">Sets of scores for one false alarm of this group.</param>
    public void Promise(double every)
    {
        if (every != _every)
        {
            _every = every;
            _limit = MewmaRunLength.Limit(Weight, _members.Length, every);
        }
    }

    /// <summary>A member's reference begins anew: how figures go together stays, what they did so far does not.</summary>
    public void Restart()
    {
        Array.Clear(_average);
        _recent.Clear();
        _drift = null;
    }

    /// <summary>A member drifts by itself: nothing is added up meanwhile.</summary>
    public void StandStill()
    {
        if (_drift is null)
        {
            Array.Clear(_average);
            _recent.Clear();
        }
    }

    /// <summary>Takes the scores of one cycle, all members in order.</summary>
    /// <returns>A signal, a return, or null.</returns>
    public GroupNews? Accept(int cycle, float[] scores)
    {
        LastCharted = cycle;
        if (_drift is not null)
        {
            return GoOn(scores);
        }

        Remember(cycle, scores);
        if (_inverse is not null)
        {
            for (var i = 0; i < scores.Length; i++)
            {
                _average[i] += Weight * (scores[i] - _average[i]);
            }

            var distance = Distance(_average) * (2 - Weight) / Weight;
            if (distance > Widened(_limit))
            {
                return Begin();
            }
        }

        Learn(scores);
        return null;
    }

    public FigureGroupState Save() => new(
        Key, _members, [.. _average], [.. _products], [.. _recent.Select(r => r.Cycle)], Blob.Of([.. _recent.SelectMany(r => r.Scores)]), _count, _nextFit, _every, _fitCount, [.. _fitted],
        _drift?.Save(), _direction, LastCharted);

    public void Load(FigureGroupState state)
    {
        Promise(state.Every);
        state.Average.CopyTo(_average, 0);
        state.Products.CopyTo(_products, 0);
        _recent.Clear();
        var scores = Blob.Floats(state.RecentScores);
        for (var i = 0; i < state.RecentCycles.Length; i++)
        {
            _recent.Add((state.RecentCycles[i], [.. scores.GetRange(i * _members.Length, _members.Length)]));
        }

        (_count, _nextFit) = (state.Count, state.NextFit);
        (_fitCount, _fitted) = (state.FitCount, state.Fitted);
        _inverse = _fitCount > 0 ? Invert() : null;
        _direction = state.Direction;
        LastCharted = state.LastCharted;
        _drift = state.Drift is null ? null : new DriftState(1) { Told = Untold };
        _drift?.Load(state.Drift!);
    }

    private void Remember(int cycle, float[] scores)
    {
        if (_recent.Count >= MostRemembered + 100)
        {
            _recent.RemoveRange(0, 101);
        }

        _recent.Add((cycle, scores));
    }

    private void Learn(float[] scores)
    {
        if (_count >= Most)
        {
            return;
        }

        for (var i = 0; i < scores.Length; i++)
        {
            for (var j = 0; j < scores.Length; j++)
            {
                _products[(i * scores.Length) + j] += (double)scores[i] * scores[j];
            }
        }

        if (++_count >= _nextFit)
        {
            _nextFit = Math.Min(Most, _nextFit * 2);
            _fitCount = _count;
            _fitted = [.. _products];
            _inverse = Invert();
        }
    }

    // Scores have a variance of 1 each; their correlations are estimated.
    private Matrix<double> Invert()
    {
        var n = _members.Length;
        var kept = _fitCount / (_fitCount + ShrinkingCycles);
        return Matrix<double>.Build.Dense(n, n, (i, j) => i == j ? 1 : kept * _fitted[(i * n) + j] / Math.Sqrt(_fitted[(i * n) + i] * _fitted[(j * n) + j])).Inverse();
    }

    private double Distance(double[] vector)
    {
        var sum = 0.0;
        for (var i = 0; i < vector.Length; i++)
        {
            for (var j = 0; j < vector.Length; j++)
            {
                sum += vector[i] * _inverse![i, j] * vector[j];
            }
        }

        return sum;
    }

    /// <summary>The covariance is that of so many cycles: distances scatter as if divided by a chi-squared variable, and are too large by p / m.</summary>
    private double Widened(double limit) => (_fitCount * (Math.Exp(limit / _fitCount) - 1)) * (1 + ((double)_members.Length / _fitCount));

    private GroupSignal Begin()
    {
        // Along the direction of the average all scores of a cycle are one.
        var weights = Times(_average);
        var norm = Math.Sqrt(Distance(_average));
        _direction = [.. weights.Select(w => w / norm)];
        var along = new RecentScores();
        foreach (var (cycle, scores) in _recent)
        {
            along.Add(cycle, 0, Along(scores));
        }

        var onset = OnsetEstimate.Of(along, 1);
        var count = along.Count - onset.Best;
        var mean = new double[_members.Length];
        for (var i = onset.Best; i < along.Count; i++)
        {
            for (var j = 0; j < mean.Length; j++)
            {
                mean[j] += _recent[i].Scores[j] / count;
            }
        }

        _drift = new DriftState(1) { Told = Untold };
        _drift.Begin(Enumerable.Range(onset.Best, count).Average(i => (double)along.ScoreAt(i)), count, 0);
        return new GroupSignal
        {
            Size = Math.Sqrt(Distance(mean)), SizeUncertainty = 1 / Math.Sqrt(count), ReferenceCycles = _count,
            Onset = along.CycleAt(onset.Best), OnsetEarliest = along.CycleAt(onset.Earliest), OnsetLatest = along.CycleAt(onset.Latest), Contributions = Contributions(weights),
        };
    }

    /// <summary>What the distance would lose without a figure (Mason, Tracy and Young 1995), as a share of the sum of these.</summary>
    private Contribution[] Contributions(double[] weights)
    {
        var losses = weights.Select((w, i) => w * w / _inverse![i, i]).ToArray();
        var sum = losses.Sum();
        return [.. losses.Select((l, i) => new Contribution(_members[i], l / sum)).Where(c => c.Share >= LeastShare).OrderByDescending(c => c.Share).ThenBy(c => c.Feature, StringComparer.Ordinal)];
    }

    private GroupReturn? GoOn(float[] scores)
    {
        if (!_drift!.Add(Along(scores), 0))
        {
            return null;
        }

        Restart();
        return new GroupReturn();
    }

    private double[] Times(double[] vector) => [.. Enumerable.Range(0, vector.Length).Select(i => Enumerable.Range(0, vector.Length).Sum(j => _inverse![i, j] * vector[j]))];

    private double Along(float[] scores)
    {
        var sum = 0.0;
        for (var i = 0; i < scores.Length; i++)
        {
            sum += _direction[i] * scores[i];
        }

        return sum;
    }
}

/// <summary>What a group tells after a cycle.</summary>
internal abstract record GroupNews;

internal sealed record GroupSignal : GroupNews
{
    /// <summary>Distance of the mean since the onset from the reference, in standard deviations of single cycles.</summary>
    public required double Size { get; init; }

    public required double SizeUncertainty { get; init; }

    public required int ReferenceCycles { get; init; }

    public required int Onset { get; init; }

    public required int OnsetEarliest { get; init; }

    public required int OnsetLatest { get; init; }

    public required IReadOnlyList<Contribution> Contributions { get; init; }
}

internal sealed record GroupReturn : GroupNews;

/// <summary>What a group remembers.</summary>
internal sealed record FigureGroupState(
    string Key, string[] Members, double[] Average, double[] Products, int[] RecentCycles, string RecentScores, int Count, int NextFit, double Every, int FitCount, double[] Fitted,
    double[]? Drift, double[] Direction, int LastCharted);
