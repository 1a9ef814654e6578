namespace WashBridge.Historian.Encoding;

/// <summary>
/// Finds the shortest exact form of a number: what controllers send is mostly a short decimal. Exact means the same 64 bits,
/// so negative zero, infinities and every NaN come back as they were.
/// </summary>
internal static class Number
{
    /// <summary>Beyond this, whole numbers are not exact in a double.</summary>
    private const double MostExact = 9007199254740992;

    private static readonly double[] Powers = [1, 10, 100, 1000, 10_000, 100_000, 1_000_000];

    public static int MostDecimals => Powers.Length - 1;

    public static double Power(int decimals) => Powers[decimals];

    /// <summary>Whether <paramref name="value"/> is exactly <paramref name="scaled"/> / 10^<paramref name="decimals"/>.</summary>
    public static bool TryScale(double value, int decimals, out long scaled)
    {
        var power = Powers[decimals];
        var candidate = Math.Round(value * power);
        if (Math.Abs(candidate) < MostExact)
        {
            scaled = (long)candidate;
            return Same(scaled / power, value);
        }

        scaled = 0;
        return false;
    }

    /// <summary>Whether <paramref name="value"/> is exactly <paramref name="scaled"/> * 10^-<paramref name="decimals"/>, which is not the same in binary.</summary>
    public static bool TryScaleByProduct(double value, int decimals, out long scaled)
    {
        var candidate = Math.Round(value * Powers[decimals]);
        if (Math.Abs(candidate) < MostExact)
        {
            scaled = (long)candidate;
            return Same(scaled * (1 / Powers[decimals]), value);
        }

        scaled = 0;
        return false;
    }

    /// <summary>Whether <paramref name="value"/> is the 32-bit float nearest to <paramref name="scaled"/> / 10^<paramref name="decimals"/>.</summary>
    public static bool TryScaleAsSingle(double value, int decimals, out long scaled)
    {
        var candidate = Math.Round(value * Powers[decimals]);
        if (Math.Abs(candidate) < MostExact)
        {
            scaled = (long)candidate;
            return Same((float)(scaled / Powers[decimals]), value);
        }

        scaled = 0;
        return false;
    }

    public static bool IsSingle(double value) => Same((float)value, value);

    public static bool Same(double a, double b) => BitConverter.DoubleToInt64Bits(a) == BitConverter.DoubleToInt64Bits(b);
}
