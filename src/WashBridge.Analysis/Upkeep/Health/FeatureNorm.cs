using System.Text.Json.Serialization;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>One figure's reference - centre and spread of its first cycles - and where it is now.</summary>
internal sealed class FeatureNorm
{
    public const int ReferenceCycles = 40;

    /// <summary>Weight of one cycle in what counts as now: some twenty cycles.</summary>
    private const double Weight = 0.08;

    /// <summary>So many of the latest values are kept as they were.</summary>
    public const int RecentCycles = 24;

    /// <summary>A reference is not taken for more exact than this share of itself.</summary>
    private const double LeastSpread = 0.003;

    /// <summary>Spreads from the centre beyond which a value of the reference is odd.</summary>
    private const double Odd = 4;

    /// <summary>What is now follows at least this share of itself in a cycle: a figure that was very even in its reference may go far later.</summary>
    private const double LeastStep = 0.05;

    /// <summary>Makes a mean distance of normal values a standard deviation.</summary>
    private const double NormalMeanDistance = 1.2533141373155;

    /// <summary>Values from which the reference is being learned; null once it is.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public List<double>? Learning { get; set; } = [];

    public double Centre { get; set; }

    /// <summary>Standard deviation of single cycles, robust.</summary>
    public double Spread { get; set; }

    /// <summary>Smoothed value; wild cycles count as three spreads or as a share of it.</summary>
    public double Now { get; set; }

    /// <summary>
    /// The latest values, the oldest first. What is smoothed follows a change slowly, so that a jump or a fast growth seems smaller and more scattered than it is: causes are told apart by these.
    /// </summary>
    [JsonRequired]
    public List<double> Recent { get; set; } = [];

    /// <summary>Mean and standard deviation of the reference without odd values: of times that are coarse by polling, means tell more than a median.</summary>
    [JsonRequired]
    public double Mean { get; set; }

    [JsonRequired]
    public double Deviation { get; set; }

    /// <summary>
    /// Of a drain: the mean of what was put in before it, in litres or seconds of spraying, when its own reference was learned after the liquid's, as after a repair; 0: both were learned
    /// together.
    /// </summary>
    public double Liquid { get; set; }

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

    /// <summary>Standard deviation of the latest values; that of the reference while there are few.</summary>
    [JsonIgnore]
    public double NowSpread
    {
        get
        {
            if (Recent.Count < RecentCycles / 2)
            {
                return Spread;
            }

            var mean = Recent.Average();
            return NormalMeanDistance * Recent.Average(v => Math.Abs(v - mean));
        }
    }

    public void See(double value)
    {
        if (Learning is null)
        {
            if (Recent.Count == RecentCycles)
            {
                Recent.RemoveAt(0);
            }

            Recent.Add(value);
            var step = Math.Max(3 * Spread, LeastStep * Math.Abs(Now));
            Now += Weight * Math.Clamp(value - Now, -step, step);
            return;
        }

        Learning.Add(value);
        if (Learning.Count < ReferenceCycles)
        {
            return;
        }

        var centre = Robust.Median(Learning);
        Spread = Math.Max(Robust.Scale(Learning), Math.Max(LeastSpread * Math.Abs(centre), 1e-9));
        var usual = Learning.Where(v => Math.Abs(v - centre) <= Odd * Spread).ToList();
        Mean = usual.Average() / Carried;
        Deviation = Math.Sqrt(usual.Sum(v => Math.Pow(v - usual.Average(), 2)) / Math.Max(1, usual.Count - 1));
        Centre = centre / Carried;
        Now = centre;
        Learning = null;
    }

    /// <summary>Learns anew.</summary>
    /// <param name="carry">Where it stands stays as it is: the recipe is another, and not the part.</param>
    public void Restart(bool carry)
    {
        Carried = carry ? IsLearned ? Ratio : Carried : 1;
        Learning = [];
        Recent = [];
        Liquid = 0;
    }
}
