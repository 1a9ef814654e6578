using WashBridge.Analysis.Upkeep.Health;

namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>A figure in its reference and in its latest cycles.</summary>
/// <param name="Usual">Mean of the reference.</param>
/// <param name="Deviation">Standard deviation of single cycles of the reference.</param>
/// <param name="Now">Mean of the latest cycles without the highest and the lowest.</param>
/// <param name="Scatter">Standard deviation of single cycles now, from one cycle to the next: what grows meanwhile does not count.</param>
/// <param name="Cycles">How many are the latest.</param>
internal readonly record struct FigureChange(double Usual, double Deviation, double Now, double Scatter, int Cycles)
{
    private const int Fewest = 4;
    private const double Trimmed = 0.1;

    /// <summary>What of the two means' errors does not get smaller with more cycles, because times are rounded by the polls in the same way; of single cycles' deviation.</summary>
    private const double RoundedAlike = 0.2;

    public double Moved => Now - Usual;

    public double Ratio => Usual != 0 ? Now / Usual : 1;

    /// <summary>Standard uncertainty of <see cref="Moved"/>.</summary>
    public double Uncertainty => Math.Sqrt((Deviation * Deviation * ((1.0 / FeatureNorm.ReferenceCycles) + (RoundedAlike * RoundedAlike))) + (Scatter * Scatter / Cycles));

    /// <param name="norm">Of the figure.</param>
    /// <param name="cycles">As many of the latest at most.</param>
    /// <returns>Null: too few cycles since the reference.</returns>
    public static FigureChange? Of(FeatureNorm norm, int cycles = FeatureNorm.RecentCycles)
    {
        var recent = norm.Recent.TakeLast(cycles).ToList();
        if (!norm.IsLearned || recent.Count < Fewest)
        {
            return null;
        }

        var sorted = recent.Order().ToList();
        var off = (int)(Trimmed * sorted.Count);
        var steps = recent.Zip(recent.Skip(1), (a, b) => Math.Pow(b - a, 2)).Average();
        return new(norm.Mean, norm.Deviation, sorted.Skip(off).Take(sorted.Count - (2 * off)).Average(), Math.Sqrt(steps / 2), recent.Count);
    }

    /// <summary>How clearly it moved: -1 to 1 at three deviations of single cycles, which are taken for at least a share of the reference, or so much.</summary>
    public double Clearly(double leastShare, double least = 0) => Math.Clamp(Moved / Unit(leastShare, least), -1, 1);

    public double ClearlyUncertainty(double leastShare, double least = 0) => Uncertainty / Unit(leastShare, least);

    private double Unit(double leastShare, double least) => 3 * Math.Max(Math.Max(Deviation, least), Math.Max(leastShare * Math.Abs(Usual), 1e-9));
}
