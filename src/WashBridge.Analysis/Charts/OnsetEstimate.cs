namespace WashBridge.Analysis.Charts;

/// <summary>When a change began, as indices into the recent scores.</summary>
/// <param name="Best">The most probable first changed value.</param>
/// <param name="Earliest">With <paramref name="Latest"/>: holds the first changed value with 90 % probability.</param>
internal readonly record struct OnsetEstimate(int Best, int Earliest, int Latest)
{
    /// <summary>
    /// Change-point of normal scores, by their likelihood: before it their mean is 0, since then it is a step or a ramp of unknown size, both as probable beforehand, like all
    /// positions (Chernoff and Zacks 1964; the size integrated out). The interval leaves out the outer 5 % on each side.
    /// </summary>
    /// <param name="direction">1 or -1: changes of the other sign are not considered.</param>
    public static OnsetEstimate Of(RecentScores recent, int direction)
    {
        var n = recent.Count;
        var logs = new double[n];
        var (best, bestLog) = (n - 1, double.NegativeInfinity);
        double sum = 0, sloped = 0;
        for (var i = n - 1; i >= 0; i--)
        {
            // Backwards each value is one step further up the ramp: all that were there already go up with it.
            var length = n - i;
            sum += direction * recent.ScoreAt(i);
            sloped += sum;
            var step = Log(sum, length, length);
            var squares = length * (length + 1.0) * ((2 * length) + 1) / 6;
            var ramp = Log(sloped, squares, squares / ((double)length * length));
            var larger = Math.Max(step, ramp);
            logs[i] = double.IsNegativeInfinity(larger) ? larger : larger + Math.Log(1 + Math.Exp(-Math.Abs(step - ramp)));
            if (logs[i] > bestLog)
            {
                (best, bestLog) = (i, logs[i]);
            }
        }

        return Interval(logs, best, bestLog);
    }

    // Likelihood of a mean that goes with a pattern, integrated over its size at the end.
    private static double Log(double projection, double squares, double information) =>
        projection <= 0 ? double.NegativeInfinity : (projection * projection / (2 * squares)) - (0.5 * Math.Log(information));

    private static OnsetEstimate Interval(double[] logs, int best, double bestLog)
    {
        if (double.IsNegativeInfinity(bestLog))
        {
            return new OnsetEstimate(best, best, best);
        }

        var total = logs.Sum(l => Math.Exp(l - bestLog));
        return new OnsetEstimate(best, Math.Min(best, FirstBeyond(logs, bestLog, 0.05 * total)), Math.Max(best, FirstBeyond(logs, bestLog, 0.95 * total)));
    }

    private static int FirstBeyond(double[] logs, double bestLog, double share)
    {
        var sum = 0.0;
        for (var i = 0; i < logs.Length; i++)
        {
            sum += Math.Exp(logs[i] - bestLog);
            if (sum >= share)
            {
                return i;
            }
        }

        return logs.Length - 1;
    }
}
