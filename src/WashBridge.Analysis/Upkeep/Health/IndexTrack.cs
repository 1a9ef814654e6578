using System.Text.Json.Serialization;
using WashBridge.Analysis.Upkeep.Forecasting;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>One health index of one part since its reference began.</summary>
internal sealed class IndexTrack
{
    private const int RecentBlocks = 5;
    private const int LeastPending = 4;
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

    /// <summary>All blocks, and what is not yet a block as a smaller one where it says anything.</summary>
    [JsonIgnore]
    public IReadOnlyList<WearBlock> Seen => _series.Pending.Count < 2 * LeastPending ? _series.Blocks : [.. _series.Blocks, WearSeries.BlockOf(_series.Pending)];

    /// <summary>Median of the latest blocks; null: none yet.</summary>
    [JsonIgnore]
    public double? Recent => _series.Blocks.Count == 0 ? null : MedianBefore(_series.Blocks.Count);

    /// <summary>Standard deviation of single cycles of late; 0 where it is not known.</summary>
    [JsonIgnore]
    public double Spread
    {
        get
        {
            var blocks = _series.Blocks;
            var (first, known) = (blocks.Count, 0);
            while (first > 0 && known < 2 * RecentBlocks)
            {
                known += double.IsFinite(blocks[--first].Spread) ? 1 : 0;
            }

            var sum = 0.0;
            for (var i = first; i < blocks.Count; i++)
            {
                sum += double.IsFinite(blocks[i].Spread) ? blocks[i].Spread : 0;
            }

            return known > 0 ? sum / known : 0;
        }
    }

    /// <returns>A block has become complete.</returns>
    public bool Add(int cycle, double value, double uncertainty)
    {
        Uncertainty += UncertaintyWeight * (uncertainty - Uncertainty);
        return _series.Add(cycle, value);
    }

    /// <summary>What of a block's error does not get smaller with more values, because all of them are rounded alike; values that scatter are not.</summary>
    [JsonIgnore]
    public double Exactness => RoundedAlike * Math.Max(0, Uncertainty - (2 * Spread));

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

            var before = MedianBefore(blocks.Count - 1);
            var noise = 1.25 * Spread / Math.Sqrt(WearSeries.Finest);
            return Math.Abs(blocks[^1].Value - before) > Clearly * Math.Max(noise, Exactness);
        }
    }

    /// <summary>Of the values of a few blocks before one.</summary>
    private double MedianBefore(int end)
    {
        Span<double> values = stackalloc double[RecentBlocks];
        values = values[..Math.Min(RecentBlocks, end)];
        for (var i = 0; i < values.Length; i++)
        {
            values[i] = _series.Blocks[end - values.Length + i].Value;
        }

        values.Sort();
        var middle = values.Length / 2;
        return values.Length % 2 == 1 ? values[middle] : 0.5 * (values[middle - 1] + values[middle]);
    }

    public void Restart() => _series = new WearSeries();
}
