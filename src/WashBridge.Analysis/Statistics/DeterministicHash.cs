namespace WashBridge.Analysis.Statistics;

/// <summary>Numbers that look random and follow from what they are of: a replay draws the same lots.</summary>
internal static class DeterministicHash
{
    /// <summary>FNV-1a over UTF-16, mixed.</summary>
    public static ulong Of(string text)
    {
        var hash = 14695981039346656037UL;
        foreach (var c in text)
        {
            hash = (hash ^ c) * 1099511628211UL;
        }

        return Mix(hash);
    }

    public static ulong Combine(ulong a, ulong b) => Mix(a ^ (b * 0x9E3779B97F4A7C15UL));

    /// <summary>Uniform, above 0 and below 1.</summary>
    public static double Uniform(ulong hash) => ((hash >> 12) + 0.5) * (1.0 / (1UL << 52));

    /// <summary>The finaliser of SplitMix64 (Steele, Lea and Flood 2014).</summary>
    private static ulong Mix(ulong x)
    {
        x += 0x9E3779B97F4A7C15UL;
        x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9UL;
        x = (x ^ (x >> 27)) * 0x94D049BB133111EBUL;
        return x ^ (x >> 31);
    }
}
