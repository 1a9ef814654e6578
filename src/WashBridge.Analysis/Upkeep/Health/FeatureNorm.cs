using System.Text.Json.Serialization;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>One figure's reference - centre and spread of its first cycles - and where it is now.</summary>
internal sealed class FeatureNorm
{
    public const int ReferenceCycles = 40;

    /// <summary>Weight of one cycle in what counts as now: some twenty cycles.</summary>
    private const double Weight = 0.08;

    /// <summary>Makes a mean distance of normal values a standard deviation.</summary>
    private const double NormalMeanDistance = 1.2533141373155;

    /// <summary>A reference is not taken for more exact than this share of itself.</summary>
    private const double LeastSpread = 0.003;

    /// <summary>Values from which the reference is being learned; null once it is.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public List<double>? Learning { get; set; } = [];

    public double Centre { get; set; }

    /// <summary>Standard deviation of single cycles, robust.</summary>
    public double Spread { get; set; }

    /// <summary>Standard deviation of single cycles about what is now, smoothed.</summary>
    public double NowSpread { get; set; }

    /// <summary>Smoothed value; wild cycles count as three spreads.</summary>
    public double Now { get; set; }

    /// <summary>What the ratio to the reference was when a new recipe made it be learned anew: wear does not begin anew with it.</summary>
    public double Carried { get; set; } = 1;

    /// <summary>What it is of: family, what follows in the name, and station.</summary>
    [JsonIgnore]
    public string Family { get; set; } = "";

    [JsonIgnore]
    public string Part { get; set; } = "";

    [JsonIgnore]
    public string Name { get; set; } = "";

    [JsonIgnore]
    public int Station { get; set; }

    /// <summary>Cycle in which it was last seen.</summary>
    public int Seen { get; set; }

    [JsonIgnore]
    public bool IsLearned => Learning is null;

    [JsonIgnore]
    public double Ratio => Centre != 0 ? Now / Centre : 1;

    /// <summary>How clearly it moved: -1 to 1 at three spreads of single cycles, which are taken for at least a share of the reference, or so much.</summary>
    public double Sign(double leastShare, double least = 0) => Math.Clamp((Now - Centre) / (3 * Math.Max(Math.Max(Spread, least), Math.Max(leastShare * Math.Abs(Centre), 1e-9))), -1, 1);

    /// <summary>By how much it scatters now, as a multiple of the reference; 1 while it is learned.</summary>
    [JsonIgnore]
    public double Scatter => Spread > 0 && IsLearned ? NowSpread / Spread : 1;

    public void See(double value)
    {
        if (Learning is null)
        {
            NowSpread += Weight * (Math.Min(NormalMeanDistance * Math.Abs(value - Now), 20 * Spread) - NowSpread);
            Now += Weight * Math.Clamp(value - Now, -3 * Spread, 3 * Spread);
            return;
        }

        Learning.Add(value);
        if (Learning.Count < ReferenceCycles)
        {
            return;
        }

        var centre = Robust.Median(Learning);
        Spread = Math.Max(Robust.Scale(Learning), Math.Max(LeastSpread * Math.Abs(centre), 1e-9));
        Centre = centre / Carried;
        Now = centre;
        NowSpread = Spread;
        Learning = null;
    }

    /// <summary>Learns anew.</summary>
    /// <param name="carry">Where it stands stays as it is: the recipe is another, and not the part.</param>
    public void Restart(bool carry)
    {
        Carried = carry ? IsLearned ? Ratio : Carried : 1;
        Learning = [];
    }
}
