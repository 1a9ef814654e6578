using System.Runtime.InteropServices;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Charts;

/// <summary>
/// The values against which new ones are compared. It grows with every value in control up to <see cref="Most"/> and then stands. Values become residuals of an
/// autoregression, and a residual's rank among those before it becomes a score: in control scores are independent standard normal whatever the values' distribution.
/// </summary>
internal sealed class ChartReference(ulong lots)
{
    /// <summary>Values before anything can be said.</summary>
    public const int Least = 100;

    public const int Most = 4000;

    // Outliers must not bend the autoregression.
    private const double CutDeviations = 5;

    // With fewer ties than this among neighbours their lots alone do.
    private const double BoundShare = 0.316; // a tenth of the variance
    private const double CoarseShare = 0.02;
    private readonly List<float> _sorted = [];
    private readonly ScoreMemory _scores = new();
    private readonly float[] _before = new float[AutoRegression.MostLags];
    private List<float> _values = [];
    private List<float> _smooth = [];
    private List<float> _residuals = [];
    private int _beforeCount;
    private int _nextFit = Least;
    private int _tailsAt;

    public AutoRegression Memory { get; private set; } = AutoRegression.None(0);

    public int Count => Stands ? Most : _values.Count;

    public bool Stands { get; private set; }

    /// <summary>Enough values for scores.</summary>
    public bool IsReady => _sorted.Count > 0;

    /// <summary>Smallest step between values of a coarse figure; 0: values hardly ever tie.</summary>
    public double Resolution { get; private set; }

    public double Mean { get; private set; }

    /// <summary>Median and robust standard deviation of the values.</summary>
    public double Centre { get; private set; }

    public double Spread { get; private set; }

    /// <summary>Standard deviation of the mean of n values in control is this over the root of n.</summary>
    public double LongRunSpread { get; private set; }

    /// <summary>Beyond which a residual is too far out to be chance.</summary>
    public (double Low, double High) Tails { get; private set; } = (double.NegativeInfinity, double.PositiveInfinity);

    /// <summary>
    /// Each value follows so closely from those before (more than nine tenths of its variance) that residuals tell more about the model than about the washer: a
    /// control loop swings, or a bath wanders without a level to come back to. Charts that cannot keep their promise keep silent.
    /// </summary>
    public bool IsBound { get; private set; }

    /// <summary>How many independent values the reference is worth.</summary>
    public double IndependentCount => Count * (1 - Memory.Memory) / (1 + Math.Max(0, Memory.Memory));

    /// <summary>The value with a lot within its resolution, where it is coarse: residuals of tied values would otherwise be ordered by the value before.</summary>
    public float Smoothed(float value, ulong lot) => Resolution == 0 ? value : (float)(value + (Resolution * (DeterministicHash.Uniform(lot) - 0.5)));

    public float Residual(float smooth)
    {
        Span<double> before = stackalloc double[AutoRegression.MostLags];
        for (var i = 0; i < _beforeCount; i++)
        {
            before[i] = _before[i];
        }

        return (float)Memory.Residual(smooth, before[.._beforeCount]);
    }

    /// <summary>Standard normal score of the next residual, without what the scores before let expect of it; where it ties with others a lot decides its place among them.</summary>
    public double Score(float residual, ulong lot)
    {
        var sorted = CollectionsMarshal.AsSpan(_sorted);
        var below = LowerBound(sorted, residual);
        var equal = below < sorted.Length && sorted[below] == residual ? LowerBound(sorted, MathF.BitIncrement(residual)) - below : 0;
        // A lot of its own: that of the value's resolution decided who is the lowest of all, and would put it lower still.
        var place = DeterministicHash.Uniform(DeterministicHash.Combine(lot, 1));
        return _scores.Take(StandardNormal.Quantile((below + ((equal + 1) * place)) / (sorted.Length + 1)));
    }

    /// <summary>The smoothed value was seen, in control or not: the next one may depend on it.</summary>
    public void Follow(float value)
    {
        Array.Copy(_before, 0, _before, 1, _before.Length - 1);
        _before[0] = value;
        _beforeCount = Math.Min(_beforeCount + 1, _before.Length);
    }

    /// <summary>Takes a value that was in control; call before <see cref="Follow"/>.</summary>
    /// <param name="tailProbability">For <see cref="Tails"/>.</param>
    public void Add(float value, float smooth, float residual, double tailProbability)
    {
        if (Stands)
        {
            return;
        }

        _values.Add(value);
        _smooth.Add(smooth);
        _residuals.Add(residual);
        if (_sorted.Count > 0)
        {
            _sorted.Insert(LowerBound(CollectionsMarshal.AsSpan(_sorted), residual), residual);
        }

        if (_values.Count >= _nextFit)
        {
            Fit(tailProbability);
            _nextFit = Math.Min(Most, _values.Count * 2);
        }
        else if (_sorted.Count >= _tailsAt)
        {
            FindTails(tailProbability);
        }

        if (_values.Count == Most)
        {
            Stands = true;
            _values = [];
            _smooth = [];
            _residuals = [];
        }
    }

    /// <summary>Takes back the newest values, which were not in control after all.</summary>
    public void TakeBack(int count)
    {
        count = Stands ? 0 : Math.Clamp(count, 0, Math.Max(0, _values.Count - Least));
        for (var i = 0; i < count; i++)
        {
            _sorted.RemoveAt(LowerBound(CollectionsMarshal.AsSpan(_sorted), _residuals[^1]));
            _residuals.RemoveAt(_residuals.Count - 1);
            _smooth.RemoveAt(_smooth.Count - 1);
            _values.RemoveAt(_values.Count - 1);
        }
    }

    /// <summary>Centre and spread as of now; they are not kept up with every value.</summary>
    public void Describe()
    {
        if (!Stands && _values.Count > 0)
        {
            DescribeValues();
            DescribeResiduals();
        }
    }

    private void DescribeValues()
    {
        var sorted = Doubles(_values);
        Array.Sort(sorted);
        Centre = Robust.MedianOfSorted(sorted);
        Spread = Robust.ScaleOfSorted(sorted);
        var (sum, lowest, highest) = (0.0, Centre - (CutDeviations * Spread), Centre + (CutDeviations * Spread));
        foreach (var value in sorted)
        {
            sum += Math.Clamp(value, lowest, highest);
        }

        Mean = sum / sorted.Length;
    }

    /// <returns>Their robust standard deviation.</returns>
    private double DescribeResiduals()
    {
        var sorted = Doubles(_residuals);
        Array.Sort(sorted);
        var scale = Robust.ScaleOfSorted(sorted);
        LongRunSpread = scale / (1 - Memory.Memory);
        return scale;
    }

    private static double[] Doubles(List<float> values)
    {
        var doubles = new double[values.Count];
        for (var i = 0; i < doubles.Length; i++)
        {
            doubles[i] = values[i];
        }

        return doubles;
    }

    public void Clear()
    {
        _values = [];
        _smooth = [];
        _residuals = [];
        _sorted.Clear();
        (_beforeCount, _nextFit, _tailsAt, Stands) = (0, Least, 0, false);
        (Mean, Centre, Spread, LongRunSpread) = (0, 0, 0, 0);
        Tails = (double.NegativeInfinity, double.PositiveInfinity);
        Memory = AutoRegression.None(0);
        _scores.Clear();
        Resolution = 0;
        IsBound = false;
    }

    public ReferenceState Save() => new(
        Blob.Of(_values), Blob.Of(_smooth), Blob.Of(_residuals), Stands ? Blob.Of(_sorted) : "", IsReady, Blob.Of(_before), _beforeCount, _nextFit, _tailsAt, Stands, Mean, Centre, Spread, LongRunSpread,
        Tails.Low, Tails.High, Memory.Centre, Memory.Coefficients, Resolution, IsBound, _scores.Save());

    public void Load(ReferenceState state)
    {
        _values = Blob.Floats(state.Values);
        _smooth = Blob.Floats(state.Smooth);
        _residuals = Blob.Floats(state.Residuals);
        _sorted.Clear();
        _sorted.AddRange(state.Stands ? Blob.Floats(state.Sorted) : state.IsReady ? _residuals.Order() : []);
        Blob.Floats(state.Before).CopyTo(_before);
        (_beforeCount, _nextFit, _tailsAt, Stands) = (state.BeforeCount, state.NextFit, state.TailsAt, state.Stands);
        (Mean, Centre, Spread, LongRunSpread) = (state.Mean, state.Centre, state.Spread, state.LongRunSpread);
        Tails = (state.TailLow, state.TailHigh);
        Resolution = state.Resolution;
        IsBound = state.IsBound;
        _scores.Load(state.Scores);
        Memory = AutoRegression.Of(state.MemoryCentre, state.Coefficients);
    }

    private void Fit(double tailProbability)
    {
        DescribeValues();
        SmoothAgain();
        var cut = Doubles(_smooth);
        for (var i = 0; i < cut.Length; i++)
        {
            cut[i] = Math.Clamp(cut[i], Centre - (CutDeviations * Spread), Centre + (CutDeviations * Spread));
        }

        Memory = AutoRegression.Fit(cut);
        Span<double> before = stackalloc double[AutoRegression.MostLags];
        for (var i = 0; i < _smooth.Count; i++)
        {
            var count = Math.Min(i, before.Length);
            for (var lag = 0; lag < count; lag++)
            {
                before[lag] = _smooth[i - 1 - lag];
            }

            _residuals[i] = (float)Memory.Residual(_smooth[i], before[..count]);
        }

        _sorted.Clear();
        _sorted.AddRange(_residuals);
        _sorted.Sort();
        IsBound = DescribeResiduals() < BoundShare * Spread && Memory.Coefficients.Length > 0;
        FitScores();
        FindTails(tailProbability);
    }

    private void FitScores()
    {
        var sorted = CollectionsMarshal.AsSpan(_sorted);
        var scores = new double[_residuals.Count];
        for (var i = 0; i < scores.Length; i++)
        {
            scores[i] = StandardNormal.Quantile((LowerBound(sorted, _residuals[i]) + 0.5) / sorted.Length);
        }

        _scores.Fit(scores);
    }

    // Values keep the lots by which they were judged; only where those were none, or of another resolution, are they drawn.
    private void SmoothAgain()
    {
        var resolution = ResolutionOf(_values);
        if (resolution != Resolution)
        {
            Resolution = resolution;
            for (var i = 0; i < _values.Count; i++)
            {
                _smooth[i] = Smoothed(_values[i], DeterministicHash.Combine(lots, (ulong)i));
            }
        }
    }

    private static double ResolutionOf(List<float> values)
    {
        var sorted = values.ToArray();
        Array.Sort(sorted);
        var ties = 0;
        var step = double.PositiveInfinity;
        for (var i = 1; i < sorted.Length; i++)
        {
            var difference = (double)sorted[i] - sorted[i - 1];
            ties += difference == 0 ? 1 : 0;
            step = difference > 0 ? Math.Min(step, difference) : step;
        }

        return ties > sorted.Length * CoarseShare && double.IsFinite(step) ? step : 0;
    }

    private void FindTails(double probability)
    {
        Tails = TailLimits.Of(CollectionsMarshal.AsSpan(_sorted), probability);
        _tailsAt = _sorted.Count + (_sorted.Count / 10);
    }

    private static int LowerBound(ReadOnlySpan<float> sorted, float value)
    {
        var (low, high) = (0, sorted.Length);
        while (low < high)
        {
            var middle = (low + high) / 2;
            (low, high) = sorted[middle] < value ? (middle + 1, high) : (low, middle);
        }

        return low;
    }
}

/// <summary>What a reference remembers.</summary>
internal sealed record ReferenceState(
    string Values, string Smooth, string Residuals, string Sorted, bool IsReady, string Before, int BeforeCount, int NextFit, int TailsAt, bool Stands, double Mean, double Centre, double Spread,
    double LongRunSpread, double TailLow, double TailHigh, double MemoryCentre, double[] Coefficients, double Resolution, bool IsBound, ScoreMemoryState Scores);
