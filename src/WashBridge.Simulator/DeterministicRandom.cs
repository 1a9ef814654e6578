namespace WashBridge.Simulator;

/// <summary>
/// A small generator that gives the same numbers on every machine and every version of .NET (a counter through a 64-bit mixing function),
/// so that a seed and a commit reproduce a run to the byte.
/// </summary>
internal sealed class DeterministicRandom(ulong seed)
{
    private const ulong Increment = 0x9E3779B97F4A7C15; // 2^64 divided by the golden ratio, odd: the counter visits every state
    private ulong _state = Mix(seed + Increment);

    /// <summary>A stream of its own, so that one more draw here changes nothing there.</summary>
    public static DeterministicRandom Stream(int seed, string purpose)
    {
        var hash = 14695981039346656037UL;
        foreach (var c in purpose)
        {
            hash = (hash ^ c) * 1099511628211UL;
        }

        return new DeterministicRandom(hash ^ Mix(unchecked((ulong)seed)));
    }

    /// <summary>0 (included) to 1 (not included).</summary>
    public double NextDouble()
    {
        _state += Increment;
        return Unit(Mix(_state));
    }

    public double Between(double low, double high) => low + ((high - low) * NextDouble());

    public bool Chance(double probability) => probability > 0 && NextDouble() < probability;

    public TimeSpan Between(TimeSpan low, TimeSpan high) => TimeSpan.FromTicks(low.Ticks + (long)((high - low).Ticks * NextDouble()));

    /// <summary>Mean 0, standard deviation 1, never beyond 3.5: the sum of twelve uniform draws would be the same shape at thrice the price.</summary>
    public double NextGaussian() => Gaussian(NextDouble(), NextDouble(), NextDouble(), NextDouble());

    /// <summary>A gamma variate by the method of Marsaglia and Tsang (2000), ACM Transactions on Mathematical Software 26, 363-372.</summary>
    /// <param name="shape">Above 0.</param>
    public double NextGamma(double shape)
    {
        if (shape < 1)
        {
            return NextGamma(shape + 1) * Math.Pow(1 - NextDouble(), 1 / shape);
        }

        var d = shape - (1.0 / 3);
        var c = 1 / Math.Sqrt(9 * d);
        while (true)
        {
            // The method needs the normal distribution's tails: Box and Muller's transform.
            var x = Math.Sqrt(-2 * Math.Log(1 - NextDouble())) * Math.Cos(2 * Math.PI * NextDouble());
            var v = 1 + (c * x);
            v *= v * v;
            if (v > 0 && Math.Log(1 - NextDouble()) < (0.5 * x * x) + d - (d * v) + (d * Math.Log(v)))
            {
                return d * v;
            }
        }
    }

    /// <summary>Noise that depends only on where and when it is looked at, not on how often.</summary>
    public static double NoiseAt(ulong seed, int channel, long scan)
    {
        var key = Mix(seed ^ Mix(unchecked(((ulong)channel << 48) ^ (ulong)scan)));
        var next = Mix(key + Increment);
        return Gaussian(Unit(key), Unit(key << 32), Unit(next), Unit(next << 32));
    }

    // Four uniform draws have variance 4/12: scaled by the root of 3 to variance 1.
    private static double Gaussian(double a, double b, double c, double d) => (a + b + c + d - 2) * 1.7320508075688772;

    private static double Unit(ulong bits) => (bits >> 11) * (1.0 / (1UL << 53));

    private static ulong Mix(ulong x)
    {
        x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9;
        x = (x ^ (x >> 27)) * 0x94D049BB133111EB;
        return x ^ (x >> 31);
    }
}
