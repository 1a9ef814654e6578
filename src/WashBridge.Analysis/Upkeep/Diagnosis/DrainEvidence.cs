using WashBridge.Analysis.Upkeep.Health;

namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>
/// How the drains of one station are late, all phases together. A valve that lets less through makes each drain longer in proportion to what runs out of the keg,
/// always in the same way; a sensor that sticks adds a time that has nothing to do with the liquid, and another one each time; more liquid makes
/// only those drains longer before which more was put in, and by as much as that explains.
/// </summary>
internal sealed class DrainEvidence
{
    /// <summary>Valve and sensor take about so long without any liquid, s (common practice, no source).</summary>
    private const double FixedSeconds = 0.5;

    /// <summary>No drain is late exactly as a cause lets expect: so much of its lateness is allowed for.</summary>
    private const double Inexact = 0.05;

    /// <summary>A sensor that sticks does so for another time in each drain: so much of the mean is a standard deviation (common practice, no source).</summary>
    private const double StickingScatter = 0.23;

    /// <summary>Uncertainties by which a lateness is clear, and the least share of the drain time.</summary>
    private const double Clear = 3;
    private const double LeastShare = 0.03;

    /// <summary>Least ratio of the longest to the shortest drain by which the way of being late can be told.</summary>
    private const double LeastRange = 1.2;

    private readonly record struct Drain(FigureChange Time, double Expected, double Variance)
    {
        public double Late => Time.Now - Expected;

        public double ByLiquid => Expected - Time.Usual;

        /// <summary>What flows out, in seconds of a valve as in the reference.</summary>
        public double Flowing => Math.Max(0.1, Expected - FixedSeconds);
    }

    private readonly List<Drain> _drains;

    private DrainEvidence(List<Drain> drains)
    {
        _drains = drains;
        var usual = drains.Sum(d => d.Time.Usual);
        Late = new Estimate(drains.Sum(d => d.Late) / drains.Sum(d => d.Expected), Math.Sqrt(drains.Sum(d => d.Variance)) / usual);
        ByLiquid = new Estimate(drains.Sum(d => d.ByLiquid) / usual, Late.Uncertainty);
    }

    /// <summary>Share by which drains take longer than the liquid lets expect.</summary>
    public Estimate Late { get; }

    /// <summary>Share by which the liquid lets expect them to take longer than in the reference.</summary>
    public Estimate ByLiquid { get; }

    public bool IsLate => IsClear(Late);

    /// <returns>Null: nothing was measured.</returns>
    public static DrainEvidence? Of(FeatureBook book, int station)
    {
        var drains = new List<Drain>();
        foreach (var norm in book.Learned("drain-time", station))
        {
            if (FigureChange.Of(norm) is { } time && time.Usual >= HealthReader.ShortestDrain)
            {
                var liquid = LiquidOf(book, norm);
                var flowing = time.Usual - FixedSeconds;
                var more = liquid is { } l ? flowing * (l.Ratio - 1) : 0;
                var moreUncertainty = liquid is { } u ? flowing * u.Uncertainty / u.Usual : 0;
                var late = time.Moved - more;
                drains.Add(new Drain(time, time.Usual + more, (time.Uncertainty * time.Uncertainty) + (moreUncertainty * moreUncertainty) + Math.Pow(Inexact * late, 2) + Math.Pow(Inexact * more, 2)));
            }
        }

        return drains.Count > 0 ? new DrainEvidence(drains) : null;
    }

    /// <summary>Of all that drains take longer than in the reference the share that the liquid explains; null: they do not clearly take longer.</summary>
    public Estimate? ShareByLiquid()
    {
        var longer = Late.Value + ByLiquid.Value;
        return IsClear(Late with { Value = longer }) ? new Estimate(ByLiquid.Value / longer, ByLiquid.Uncertainty / longer) : null;
    }

    /// <summary>
    /// Of the lateness the share that grows with what flows out: 1 as of a valve, 0 as of a sensor. By least squares with each drain's own uncertainty;
    /// null: no drain is late, or all are about equally long.
    /// </summary>
    public Estimate? Proportional()
    {
        if (!IsLate || _drains.Max(d => d.Flowing) < LeastRange * _drains.Min(d => d.Flowing))
        {
            return null;
        }

        var weights = _drains.Sum(d => 1 / d.Variance);
        var usual = _drains.Sum(d => d.Flowing / d.Variance) / weights;
        var late = _drains.Sum(d => d.Late / d.Variance) / weights;
        var spread = _drains.Sum(d => Math.Pow(d.Flowing - usual, 2) / d.Variance);
        var slope = _drains.Sum(d => (d.Flowing - usual) * d.Late / d.Variance) / spread;
        if (late <= 0)
        {
            return null;
        }

        // At the mean the line's height and its slope are independent.
        var share = slope * usual / late;
        return new Estimate(share, Math.Sqrt((usual * usual / spread) + (share * share / weights)) / late);
    }

    /// <summary>
    /// By how much single drains scatter more than a slower valve explains: 0 as of a valve, 1 as of a sensor that sticks for another time in each drain;
    /// null: no drain is late.
    /// </summary>
    public Estimate? Scatter()
    {
        if (!IsLate)
        {
            return null;
        }

        var (excess, variance, late) = (0.0, 0.0, 0.0);
        foreach (var d in _drains)
        {
            // Part of what scattered in the reference was the rounding by polls, which does not grow with the time.
            var own = d.Time.Scatter * d.Time.Scatter;
            var usual = d.Time.Deviation * d.Time.Deviation * Math.Max(1, d.Time.Ratio);
            excess += own - usual;
            variance += (3 * own * own / d.Time.Cycles) + (2 * usual * usual / FeatureNorm.ReferenceCycles);
            late += d.Late * d.Late;
        }

        var unit = StickingScatter * StickingScatter * late;
        return new Estimate(excess / unit, Math.Sqrt(variance) / unit);
    }

    /// <summary>Lateness as a share of another station's; null: that one is not late.</summary>
    public Estimate? ShareOf(DrainEvidence other) => other.IsLate ? new Estimate(Late.Value / other.Late.Value, Late.Uncertainty / other.Late.Value) : null;

    private static bool IsClear(Estimate share) => share.Value > Math.Max(LeastShare, Clear * share.Uncertainty);

    /// <summary>Against the liquid of when the drain's own reference was learned.</summary>
    private static FigureChange? LiquidOf(FeatureBook book, FeatureNorm drain) =>
        book.LiquidOf(drain) is { } norm && FigureChange.Of(norm) is { Usual: > 0 } change ? change with { Usual = drain.Liquid > 0 ? drain.Liquid : change.Usual } : null;
}
