using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>The blocks of a question as ratios to the reference, with the noise of each.</summary>
internal sealed class WearData
{
    private const double MedianVariance = Math.PI / 2;

    /// <summary>No index is taken for more exact than so, as a share of the way to the limit: it was rounded somewhere.</summary>
    private const double ExactnessOfBlocks = 0.001;
    private const double ExactnessOfValues = 0.01;
    private readonly double _reference;
    private readonly double _unit;
    private readonly double[] _ratios;
    private readonly double[] _smooth;
    private readonly double[] _noise;
    private readonly double _limit;
    private readonly double _limitExactness;
    private readonly double _exactness;

    private WearData(WearQuestion question)
    {
        // Without a natural zero the distance to the limit is the unit, shifted so that the reference is 1.
        var ratio = question.Reference > 0 && question.Limit > 0 && question.Blocks.All(b => b.Value > 0.05 * question.Reference);
        _reference = question.Reference;
        _unit = ratio ? question.Reference : Math.Abs(question.Limit - question.Reference);
        Scales = ratio ? WearScale.RatiosOf(question.NaturalPower) : WearScale.Plain;
        Direction = Math.Sign(question.Limit - question.Reference);
        Times = question.Blocks.Select(b => b.Time).ToArray();
        Step = Math.Max(1e-9, TheilSen.Median(Enumerable.Range(1, Times.Length - 1).Select(i => Times[i] - Times[i - 1])));
        _limit = 1 + ((question.Limit - _reference) / _unit);
        _limitExactness = question.LimitExactness / _unit;
        _ratios = question.Blocks.Select(b => 1 + ((b.Value - _reference) / _unit)).ToArray();
        _smooth = Enumerable.Range(0, _ratios.Length).Select(i => TheilSen.Median(_ratios[Math.Max(0, i - 1)..Math.Min(_ratios.Length, i + 2)])).ToArray();
        _exactness = question.Blocks.Any(b => double.IsFinite(b.Spread)) ? ExactnessOfBlocks : ExactnessOfValues;
        _noise = Noise(question.Blocks);
        var rounding = question.Exactness / _unit;
        for (var i = 0; i < _noise.Length; i++)
        {
            _noise[i] += rounding * rounding;
        }
    }

    public IReadOnlyList<WearScale> Scales { get; }

    /// <summary>1: it wears upwards, -1: downwards.</summary>
    public int Direction { get; }

    public double[] Times { get; }

    /// <summary>Usual distance of two blocks, cycles.</summary>
    public double Step { get; }

    public static WearData Of(WearQuestion question) => new(question);

    /// <summary>The index at a ratio.</summary>
    public double Index(double ratio) => _reference + ((ratio - 1) * _unit);

    public WearView On(WearScale scale)
    {
        var distance = Math.Abs(scale.Of(_limit));
        var values = new double[_ratios.Length];
        var noise = new double[_ratios.Length];
        var logStretch = 0.0;
        var floor = _exactness * _exactness * distance * distance;
        for (var i = 0; i < values.Length; i++)
        {
            values[i] = Direction * scale.Of(_ratios[i]);
            var stretch = scale.Stretch(_smooth[i]);
            noise[i] = (_noise[i] * stretch * stretch) + floor;
            logStretch += i == 0 ? 0 : Math.Log(stretch);
        }

        // How far it came so far, or a tenth of the way: the order of magnitude of what a slope can have done.
        var begin = TheilSen.Median(values[..Math.Min(3, values.Length)]);
        var end = TheilSen.Median(values[^Math.Min(3, values.Length)..]);
        var distanceVariance = Math.Pow(_limitExactness * scale.Stretch(_limit), 2);
        return new(scale, values, noise, distance, distanceVariance, logStretch, Math.Max(1.5 * Math.Abs(end - begin), 0.1 * distance));
    }

    /// <summary>Variance of each block's median, as a ratio; from the spread within blocks near it, or from how the blocks jump.</summary>
    private double[] Noise(IReadOnlyList<WearBlock> blocks)
    {
        var jumps = Enumerable.Range(1, Math.Max(0, _ratios.Length - 2)).Select(i => Math.Abs(_ratios[i - 1] - (2 * _ratios[i]) + _ratios[i + 1])).ToList();
        var jump = jumps.Count > 0 ? TheilSen.Median(jumps) / 0.6745 : 0;
        var noise = new double[blocks.Count];
        for (var i = 0; i < noise.Length; i++)
        {
            var near = new List<double>();
            for (var j = Math.Max(0, i - 5); j < Math.Min(noise.Length, i + 6); j++)
            {
                if (double.IsFinite(blocks[j].Spread))
                {
                    near.Add(blocks[j].Spread / _unit);
                }
            }

            if (near.Count == 0)
            {
                noise[i] = jump * jump / 6;
                continue;
            }

            var spread = TheilSen.Median(near);
            noise[i] = spread * spread * MedianVariance / Math.Max(1, blocks[i].Count);
        }

        return noise;
    }
}

/// <summary>The blocks on one scale.</summary>
/// <param name="Values">Wear, rising from about 0.</param>
/// <param name="Noise">Variance of each.</param>
/// <param name="Distance">The limit.</param>
/// <param name="DistanceVariance">Of the limit.</param>
/// <param name="LogStretch">What makes likelihoods on different scales comparable.</param>
/// <param name="TypicalChange">Order of magnitude of the change so far.</param>
internal sealed record WearView(WearScale Scale, double[] Values, double[] Noise, double Distance, double DistanceVariance, double LogStretch, double TypicalChange);
