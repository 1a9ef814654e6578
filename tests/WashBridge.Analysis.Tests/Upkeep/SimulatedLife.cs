using MathNet.Numerics.Distributions;
using WashBridge.Analysis.Upkeep.Forecasting;

namespace WashBridge.Analysis.Tests.Upkeep;

/// <summary>The life of an invented part, from new to its limit, as the figures of its cycles: same seed, same life.</summary>
public sealed class SimulatedLife
{
    private SimulatedLife(LifeKind kind, double reference, double limit, int onset, int end, double[] values) =>
        (Kind, Reference, Limit, Onset, End, Values) = (kind, reference, limit, onset, end, values);

    public LifeKind Kind { get; }

    public double Reference { get; }

    public double Limit { get; }

    /// <summary>Cycle in which wear begins.</summary>
    public int Onset { get; }

    /// <summary>First cycle in which wear itself, without the noise of its measurement, is at the limit.</summary>
    public int End { get; }

    /// <summary>Measured index by cycle; NaN where it was not measured.</summary>
    public double[] Values { get; }

    /// <summary>Cycle at which this share of the time from the onset to the end is over.</summary>
    public int At(double share) => Onset + (int)(share * (End - Onset));

    /// <summary>The forecaster's blocks at a cycle.</summary>
    public WearQuestion Question(int now)
    {
        var series = new WearSeries();
        for (var i = 0; i <= now; i++)
        {
            if (double.IsFinite(Values[i]))
            {
                series.Add(i, Values[i]);
            }
        }

        // The reference is learned, as in life: from the first cycles.
        var first = Values.Take(50).Where(double.IsFinite).Order().ToList();
        return new WearQuestion(series.Blocks, first[first.Count / 2], Limit, now);
    }

    public static SimulatedLife Of(int seed)
    {
        var random = new Random(seed);
        while (true)
        {
            if (Try(random) is { } life)
            {
                return life;
            }
        }
    }

    /// <summary>Null: a life that is too short, or that never ends.</summary>
    private static SimulatedLife? Try(Random random)
    {
        var kind = (LifeKind)random.Next(6);
        var falls = random.NextDouble() < 0.25;
        var reference = Math.Exp(2 * Normal.Sample(random, 0, 1));
        var limitRatio = falls ? Between(random, 0.7, 0.9) : Between(random, 1.3, 3.5);
        var mean = Math.Exp(Between(random, Math.Log(400), Math.Log(8000)));
        var onset = random.NextDouble() < 0.6 ? 0 : (int)(mean * Between(random, 0.1, 1.5));
        var roughness = Math.Exp(Between(random, Math.Log(0.02), Math.Log(0.2)));

        // Of a single cycle: at most a fifth of the way, else nothing could be measured.
        var noise = Math.Min(Math.Exp(Between(random, Math.Log(0.005), Math.Log(0.06))), 0.2 * Math.Abs(limitRatio - 1));
        var path = new WearPath(kind, limitRatio, mean, roughness, random);
        var values = new List<double>();
        var correlated = 0.0;
        for (var cycle = 0; cycle < onset + (4 * mean); cycle++)
        {
            var ratio = cycle < onset ? 1 : path.Next();
            if (falls ? ratio <= limitRatio : ratio >= limitRatio)
            {
                return cycle - onset < 200 ? null : new(kind, reference, reference * limitRatio, onset, cycle, [.. values]);
            }

            correlated = (0.9 * correlated) + (Math.Sqrt(1 - 0.81) * Normal.Sample(random, 0, 1));
            var error = (0.9 * Normal.Sample(random, 0, 1)) + (0.43 * correlated);
            error *= random.NextDouble() < 0.01 ? 8 : 1;
            values.Add(random.NextDouble() < 0.03 ? double.NaN : reference * ratio * (1 + (noise * error)));
        }

        return null;
    }

    private static double Between(Random random, double low, double high) => low + ((high - low) * random.NextDouble());
}

/// <summary>How a simulated part wears.</summary>
public enum LifeKind
{
    /// <summary>Equal steps, with a Wiener process.</summary>
    Straight = 0,

    /// <summary>Equal steps on average, by jumps: a gamma process.</summary>
    Jumps = 1,

    /// <summary>Equal shares of what is left, with a Wiener process.</summary>
    Shares = 2,

    /// <summary>Equal shares of what is left, by jumps.</summary>
    ShareJumps = 3,

    /// <summary>An opening that shrinks straight: the index is its inverse.</summary>
    Inverse = 4,

    /// <summary>Ever faster: with the power 1.5 of time.</summary>
    Power = 5,
}

/// <summary>The ratio to new, cycle by cycle, without noise.</summary>
internal sealed class WearPath(LifeKind kind, double limitRatio, double meanLife, double roughness, Random random)
{
    private double _share;
    private int _cycle;

    public double Next()
    {
        _cycle++;
        var step = kind == LifeKind.Power ? Math.Pow(_cycle / meanLife, 1.5) - Math.Pow((_cycle - 1) / meanLife, 1.5) : 1 / meanLife;
        var deviation = roughness / Math.Sqrt(meanLife);
        _share += kind is LifeKind.Jumps or LifeKind.ShareJumps
            ? Gamma.Sample(random, step * step / (deviation * deviation), step / (deviation * deviation))
            : step + (deviation * Normal.Sample(random, 0, 1));
        return kind switch
        {
            LifeKind.Shares or LifeKind.ShareJumps => Math.Pow(limitRatio, _share),
            LifeKind.Inverse => 1 / Math.Max(1e-3, 1 - (_share * (1 - (1 / limitRatio)))),
            _ => 1 + (_share * (limitRatio - 1)),
        };
    }
}
