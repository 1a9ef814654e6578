namespace WashBridge.Analysis.Statistics;

/// <summary>
/// How a value follows from those before it: <c>x - centre = sum of coefficients x (earlier x - centre) + residual</c>. Fitted by the method of Burg (1975), which is less
/// biased than the Yule-Walker equations and always stable; the order by the criterion of Hannan and Quinn (1979), and where it finds any memory two lags more: a lag too many
/// costs little, one too few multiplies false alarms.
/// </summary>
internal sealed class AutoRegression
{
    public const int MostLags = 8;
    private const int MoreLags = 2;

    private AutoRegression(double centre, double[] coefficients) => (Centre, Coefficients, Memory) = (centre, coefficients, coefficients.Sum());

    public double Centre { get; }

    /// <summary>Of the value before first; none: values do not depend on those before.</summary>
    public double[] Coefficients { get; }

    /// <summary>Sum of the coefficients, below 1: what of a lasting shift does not show in the residuals.</summary>
    public double Memory { get; }

    public static AutoRegression None(double centre) => new(centre, []);

    public static AutoRegression Of(double centre, double[] coefficients) => new(centre, coefficients);

    /// <param name="values">In order; at least 20. Wild ones should have been cut by the caller.</param>
    public static AutoRegression Fit(ReadOnlySpan<double> values)
    {
        var n = values.Length;
        var centre = Mean(values);
        var forward = new double[n];
        for (var i = 0; i < n; i++)
        {
            forward[i] = values[i] - centre;
        }

        var backward = forward.ToArray();
        var power = SumOfSquares(forward) / n;
        var (best, bestCriterion) = (0, n * Math.Log(Math.Max(power, double.Epsilon)));
        var coefficients = new List<double[]> { Array.Empty<double>() };
        for (var order = 1; order <= Math.Min(MostLags, n / 10) && power > 0; order++)
        {
            var reflection = Reflect(forward, backward, order);
            coefficients.Add(Extend(coefficients[^1], reflection));
            power *= 1 - (reflection * reflection);
            if (power <= 0)
            {
                break;
            }

            var criterion = (n * Math.Log(power)) + (2 * order * Math.Log(Math.Log(n)));
            if (criterion < bestCriterion)
            {
                (best, bestCriterion) = (order, criterion);
            }
        }

        return new AutoRegression(centre, LessBiased(coefficients[best == 0 ? 0 : Math.Min(best + MoreLags, coefficients.Count - 1)], n));
    }

    /// <summary>What the values before do not explain.</summary>
    /// <param name="value">The newest value.</param>
    /// <param name="before">Earlier values, the newest first; missing ones at the end count as the centre.</param>
    public double Residual(double value, ReadOnlySpan<double> before)
    {
        var residual = value - Centre;
        for (var lag = 0; lag < Coefficients.Length && lag < before.Length; lag++)
        {
            residual -= Coefficients[lag] * (before[lag] - Centre);
        }

        return residual;
    }

    /// <summary>One step of Burg's recursion; leaves both prediction errors as those of the next order.</summary>
    private static double Reflect(double[] forward, double[] backward, int order)
    {
        double product = 0, squares = 0;
        for (var t = order; t < forward.Length; t++)
        {
            product += forward[t] * backward[t - 1];
            squares += (forward[t] * forward[t]) + (backward[t - 1] * backward[t - 1]);
        }

        var reflection = squares > 0 ? 2 * product / squares : 0;
        for (var t = forward.Length - 1; t >= order; t--)
        {
            (forward[t], backward[t]) = (forward[t] - (reflection * backward[t - 1]), backward[t - 1] - (reflection * forward[t]));
        }

        return reflection;
    }

    /// <summary>Levinson's recursion.</summary>
    private static double[] Extend(double[] coefficients, double reflection)
    {
        var order = coefficients.Length + 1;
        var extended = new double[order];
        for (var i = 0; i < order - 1; i++)
        {
            extended[i] = coefficients[i] - (reflection * coefficients[order - 2 - i]);
        }

        extended[order - 1] = reflection;
        return extended;
    }

    /// <summary>With an estimated centre the memory comes out too small by about (1 + 3 memory) / n (Kendall 1954; Marriott and Pope 1954).</summary>
    private static double[] LessBiased(double[] coefficients, int n)
    {
        if (coefficients.Length == 0)
        {
            return coefficients;
        }

        var memory = coefficients.Sum();
        var corrected = Math.Min(memory + ((1 + (3 * memory)) / n), Math.Max(memory, 0.98));
        return [coefficients[0] + corrected - memory, .. coefficients[1..]];
    }

    private static double Mean(ReadOnlySpan<double> values)
    {
        var sum = 0.0;
        foreach (var value in values)
        {
            sum += value;
        }

        return sum / values.Length;
    }

    private static double SumOfSquares(double[] values)
    {
        var sum = 0.0;
        foreach (var value in values)
        {
            sum += value * value;
        }

        return sum;
    }
}
