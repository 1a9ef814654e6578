using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Charts;

/// <summary>Figures of many kinds with nothing wrong, reproducible by seed. Of a generator of its own: the framework's seeded one is correlated where thousands of runs are compared.</summary>
internal sealed class Plant(string kind, int seed)
{
    private ulong _state = DeterministicHash.Of($"{kind}/{seed}");
    private double _memory;
    private double _lastShock;

    public static string[] Kinds { get; } =
        ["normal", "skewed", "heavy", "coarse", "two-valued", "count", "ar 0.3", "ar 0.6", "ar 0.9", "arma", "coarse ar 0.6", "ar 0.6, a fifth missing", "two modes, means of ten"];

    /// <summary>Standard deviation of the values.</summary>
    public double Deviation => kind switch { "ar 0.3" => 1 / Math.Sqrt(1 - 0.09), "ar 0.6" => 1.25, "ar 0.9" => 1 / Math.Sqrt(1 - 0.81), _ => 1 };

    /// <summary>Null: missing.</summary>
    public double? Next() => kind switch
    {
        "normal" => Normal(),
        "skewed" => Math.Exp(0.8 * Normal()),
        "heavy" => Normal() / Math.Sqrt((Square() + Square() + Square()) / 3),
        "coarse" => Math.Round(0.8 * Normal()),
        "two-valued" => Uniform() < 0.05 ? 1 : 0,
        "count" => Poisson(0.7),
        "ar 0.3" => Memory(0.3, 0),
        "ar 0.6" => Memory(0.6, 0),
        "ar 0.9" => Memory(0.9, 0),
        "arma" => Memory(0.7, -0.4),
        "coarse ar 0.6" => Math.Round(1.2 * Memory(0.6, 0)),
        "ar 0.6, a fifth missing" => Memory(0.6, 0) is var value && Uniform() < 0.2 ? null : value,
        // As a poll sees the top of a swing: mostly closely, and then how values hang together matters; sometimes far off, and then it does not show.
        // Such figures are charted by means.
        "two modes, means of ten" => Enumerable.Range(0, 10).Average(_ => (0.02 * Memory(0.6, 0)) + (Uniform() < 0.4 ? 1 + (0.5 * Normal()) : 0)),
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };

    private double Memory(double autoregressive, double moving)
    {
        var shock = Normal();
        _memory = (autoregressive * _memory) + shock + (moving * _lastShock);
        _lastShock = shock;
        return _memory;
    }

    private double Square() => Normal() is var n ? n * n : 0;

    private double Normal() => StandardNormal.Quantile(Uniform());

    private int Poisson(double mean)
    {
        var (count, product, end) = (0, Uniform(), Math.Exp(-mean));
        for (; product > end; count++)
        {
            product *= Uniform();
        }

        return count;
    }

    private double Uniform() => DeterministicHash.Uniform(DeterministicHash.Combine(_state++, 7));
}
