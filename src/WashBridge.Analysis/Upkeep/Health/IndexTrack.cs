using System.Text.Json.Serialization;
using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Upkeep.Forecasting;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>One health index of one part since its reference began.</summary>
internal sealed class IndexTrack
{
    private const int RecentBlocks = 5;
    private const double Clearly = 5;
    private const double UncertaintyWeight = 0.02;
    private const double RoundedAlike = 0.5;
    private WearSeries _series = new();

    /// <summary>Time, value, count and spread of each block in turn.</summary>
    public double[] Blocks
    {
        get => [.. _series.Blocks.SelectMany(b => new[] { b.Time, b.Value, b.Count, b.Spread })];
        set => _series = new WearSeries(value.Chunk(4).Select(b => new WearBlock(b[0], b[1], b[2], b[3])), _series.Pending);
    }

    public double[] Pending
    {
        get => [.. _series.Pending];
        set => _series = new WearSeries(_series.Blocks, value);
    }

    /// <summary>Standard uncertainty of single values as measurements, smoothed.</summary>
    public double Uncertainty { get; set; }

    [JsonIgnore]
    public WearSeries Series => _series;

    /// <summary>Median of the latest blocks; null: none yet.</summary>
    [JsonIgnore]
    public double? Recent => _series.Blocks.Count == 0 ? null : TheilSen.Median(_series.Blocks.TakeLast(RecentBlocks).Select(b => b.Value));

    /// <summary>Standard deviation of single cycles of late; 0 where it is not known.</summary>
    [JsonIgnore]
    public double Spread => _series.Blocks.Where(b => double.IsFinite(b.Spread)).TakeLast(2 * RecentBlocks).Select(b => b.Spread).DefaultIfEmpty(0).Average();

    /// <returns>A block has become complete.</returns>
    public bool Add(int cycle, double value, double uncertainty)
    {
        Uncertainty += UncertaintyWeight * (uncertainty - Uncertainty);
        return _series.Add(cycle, value);
    }

    /// <summary>What of a block's error does not get smaller with more values, because all of them are rounded alike.</summary>
    [JsonIgnore]
    public double Exactness => RoundedAlike * Uncertainty;

    /// <summary>The latest block is clearly off the few before it: worth a look at once.</summary>
    [JsonIgnore]
    public bool Jumps
    {
        get
        {
            var blocks = _series.Blocks;
            if (blocks.Count <= RecentBlocks)
            {
                return false;
            }

            var before = TheilSen.Median(blocks.Skip(blocks.Count - 1 - RecentBlocks).Take(RecentBlocks).Select(b => b.Value));
            var noise = 1.25 * Spread / Math.Sqrt(WearSeries.Finest);
            return Math.Abs(blocks[^1].Value - before) > Clearly * Math.Max(noise, Exactness);
        }
    }

    public void Restart() => _series = new WearSeries();
}
