namespace WashBridge.Core.Sampling;

/// <summary>
/// Sums of binomial and hypergeometric probabilities, to about 1e-13 of their value. One term is computed by the saddle-point expansion of
/// Loader (2000), "Fast and Accurate Computation of Binomial Probabilities"; its neighbours follow by their exact ratios.
/// </summary>
public static class Tails
{
    /// <summary>Terms smaller than this share of the sum can no longer change it.</summary>
    private const double Negligible = 1e-18;

    /// <summary>Probability of at most <paramref name="failed"/> failures among <paramref name="opened"/> kegs of a process that fails at <paramref name="rate"/> (0 to 1).</summary>
    public static double AtMost(int failed, int opened, double rate) => Binomial(0, failed, opened, rate);

    /// <summary>Probability of at least <paramref name="failed"/> failures among <paramref name="opened"/> kegs of a process that fails at <paramref name="rate"/> (0 to 1).</summary>
    public static double AtLeast(int failed, int opened, double rate) => Binomial(failed, opened, opened, rate);

    /// <summary>Probability of at most <paramref name="failed"/> failing kegs among <paramref name="opened"/> drawn without replacement from a lot that holds <paramref name="failing"/>.</summary>
    public static double AtMost(int failed, int opened, int failing, int lot) => Hypergeometric(0, failed, opened, failing, lot);

    /// <summary>Probability of at least <paramref name="failed"/> failing kegs among <paramref name="opened"/> drawn without replacement from a lot that holds <paramref name="failing"/>.</summary>
    public static double AtLeast(int failed, int opened, int failing, int lot) => Hypergeometric(failed, opened, opened, failing, lot);

    private static double Binomial(int from, int to, int n, double p)
    {
        if (from <= 0 && to >= n)
        {
            return 1;
        }

        var odds = p / (1 - p);
        return Sum(Math.Max(0, from), Math.Min(n, to), (int)Math.Min(n, (n + 1.0) * p), k => Term(k, n, p), k => (n - k) / (k + 1.0) * odds);
    }

    private static double Hypergeometric(int from, int to, int n, int failing, int lot)
    {
        var (least, most) = (Math.Max(0, n - (lot - failing)), Math.Min(n, failing));
        if (from <= least && to >= most)
        {
            return 1;
        }

        var mode = (int)((n + 1.0) * (failing + 1.0) / (lot + 2.0));
        var share = (double)n / lot;
        return Sum(
            Math.Max(least, from),
            Math.Min(most, to),
            mode,
            k => Term(k, failing, share) * Term(n - k, lot - failing, share) / Term(n, lot, share),
            k => (double)(failing - k) * (n - k) / ((k + 1.0) * (lot - failing - n + k + 1.0)));
    }

    /// <summary>From the largest term of the range to both sides, so that no sum begins with what has underflowed.</summary>
    private static double Sum(int from, int to, int mode, Func<int, double> term, Func<int, double> ratioToNext)
    {
        if (from > to)
        {
            return 0;
        }

        var start = Math.Clamp(mode, from, to);
        var first = term(start);
        var sum = first;
        var now = first;
        for (var k = start; k < to && now > sum * Negligible; k++)
        {
            sum += now *= ratioToNext(k);
        }

        now = first;
        for (var k = start - 1; k >= from && now > sum * Negligible; k--)
        {
            sum += now /= ratioToNext(k);
        }

        return Math.Min(1, sum);
    }

    /// <summary>Binomial probability of exactly k among n.</summary>
    private static double Term(int k, int n, double p)
    {
        if (p is 0 or 1)
        {
            return k == (p == 0 ? 0 : n) ? 1 : 0;
        }

        if (k == 0)
        {
            return Math.Exp(n * LogOneMinus(p));
        }

        if (k == n)
        {
            return Math.Exp(n * Math.Log(p));
        }

        var exponent = StirlingError(n) - StirlingError(k) - StirlingError(n - k) - Deviance(k, n * p) - Deviance(n - k, n * (1 - p));
        return Math.Exp(exponent) * Math.Sqrt(n / (2 * Math.PI * k * (n - k)));
    }

    /// <summary>ln(1 - p) without losing the digits of a small p.</summary>
    private static double LogOneMinus(double p)
    {
        var rest = 1 - p;
        return rest == 1 ? -p : Math.Log(rest) * p / (1 - rest);
    }

    /// <summary>ln n! less Stirling's formula.</summary>
    private static double StirlingError(int n)
    {
        if (n < 16)
        {
            var factorial = 1.0;
            for (var i = 2; i <= n; i++)
            {
                factorial *= i;
            }

            return Math.Log(factorial) - ((n + 0.5) * Math.Log(n)) + n - (0.5 * Math.Log(2 * Math.PI));
        }

        var square = (double)n * n;
        return ((1 / 12.0) - (((1 / 360.0) - (((1 / 1260.0) - (((1 / 1680.0) - (1 / 1188.0 / square)) / square)) / square)) / square)) / n;
    }

    /// <summary>x ln(x / mean) + mean - x, by its series where x is near the mean and the three would cancel.</summary>
    private static double Deviance(double x, double mean)
    {
        if (Math.Abs(x - mean) >= 0.1 * (x + mean))
        {
            return (x * Math.Log(x / mean)) + mean - x;
        }

        var v = (x - mean) / (x + mean);
        var sum = (x - mean) * v;
        var power = 2 * x * v;
        for (var j = 1; ; j++)
        {
            power *= v * v;
            var next = sum + (power / ((2 * j) + 1));
            if (next == sum)
            {
                return next;
            }

            sum = next;
        }
    }
}
