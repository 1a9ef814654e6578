namespace WashBridge.Analysis.Charts;

/// <summary>
/// A figure that left its reference: has it come back? A sum of log-likelihood ratios (Page 1954) compares "as in the reference" with "as far out as it was
/// on average": it ends where values stay nearer to the reference than to the drift.
/// </summary>
/// <param name="direction">1 or -1.</param>
internal sealed class DriftState(int direction)
{
    // One wrong return in some e^9 values of a drift that goes on.
    private const double ReturnEvidence = 9;
    private const double LeastSize = 0.5;
    private const double MostSize = 2.5;
    private const double LevelWeight = 0.1;
    private const double WorseDeviations = 5;
    private double _evidence;
    private double _sum;
    private double _count;
    private double _level;

    public int Direction => direction;

    /// <summary>The signal that was told last.</summary>
    public required ChartSignal Told { get; set; }

    /// <summary>Change from the reference's mean, smoothed.</summary>
    public double Level => _level;

    /// <param name="score">Mean since the onset.</param>
    /// <param name="count">Values since the onset.</param>
    /// <param name="level">Mean change of the values since the onset.</param>
    public void Begin(double score, int count, double level) => (_sum, _count, _level) = (score * count, count, level);

    /// <returns>It has come back.</returns>
    public bool Add(double score, double change)
    {
        var size = Math.Clamp(direction * _sum / _count, LeastSize, MostSize);
        _evidence = Math.Max(0, _evidence + (((size / 2) - (direction * score)) * size));
        _sum += score;
        _count++;
        _level += LevelWeight * (change - _level);
        return _evidence > ReturnEvidence;
    }

    /// <summary>At least twice what was told, and by more than chance.</summary>
    public bool IsWorse(double longRunSpread)
    {
        var now = direction * _level;
        var told = Math.Abs(Told.Size);
        return now >= 2 * told && now - told > WorseDeviations * LevelUncertainty(longRunSpread);
    }

    public static double LevelUncertainty(double longRunSpread) => longRunSpread * Math.Sqrt(LevelWeight / (2 - LevelWeight));

    /// <summary>Values since the onset.</summary>
    public int Count => (int)_count;

    public double[] Save() => [_evidence, _sum, _count, _level];

    public void Load(double[] state) => (_evidence, _sum, _count, _level) = (state[0], state[1], state[2], state[3]);
}
