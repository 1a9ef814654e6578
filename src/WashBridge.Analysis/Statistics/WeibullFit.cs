using MathNet.Numerics.RootFinding;

namespace WashBridge.Analysis.Statistics;

/// <summary>A Weibull distribution by maximum likelihood from lives of which some are right-censored (Lawless 2003, chapter 5).</summary>
/// <param name="Best">The fit.</param>
/// <param name="LogLikelihood">At the fit.</param>
/// <param name="Lives">All.</param>
/// <param name="Failures">Those that ended in a failure.</param>
public sealed record WeibullFit(Weibull Best, double LogLikelihood, IReadOnlyList<Lifetime> Lives, int Failures)
{
    /// <summary>With fewer failures a fit says nothing.</summary>
    public const int LeastFailures = 2;

    private const double LowestShape = 0.01;
    private const double HighestShape = 1000;

    /// <summary>Life by which one in ten has failed.</summary>
    public double B10 => Best.Quantile(0.1);

    /// <returns>Null: fewer than two different failures; no shape follows from them.</returns>
    /// <exception cref="ArgumentException">A life that is not above 0 and finite.</exception>
    public static WeibullFit? Of(IReadOnlyList<Lifetime> lives)
    {
        ArgumentNullException.ThrowIfNull(lives);
        if (lives.FirstOrDefault(l => !(l.Use > 0 && double.IsFinite(l.Use)), new Lifetime(1, false)) is { Use: var use } && !(use > 0 && double.IsFinite(use)))
        {
            throw new ArgumentException($"a life of {use}: it must be above 0 and finite.", nameof(lives));
        }

        var failures = lives.Count(l => l.Failed);
        if (failures < LeastFailures || Score(lives, HighestShape) >= 0)
        {
            return null;
        }

        var shape = Brent.FindRoot(s => Score(lives, s), LowestShape, HighestShape, 1e-13, 500);
        var best = new Weibull(shape, ScaleFor(lives, shape, failures));
        return new(best, best.LogLikelihood(lives), lives, failures);
    }

    /// <summary>Interval of the shape by profile likelihood.</summary>
    public (double Lower, double Upper) ShapeInterval(double confidence = 0.95) =>
        Interval(shape => new Weibull(shape, ScaleFor(Lives, shape, Failures)), Best.Shape, confidence);

    /// <summary>Interval of the life by which a share has failed, by profile likelihood.</summary>
    public (double Lower, double Upper) QuantileInterval(double share, double confidence = 0.95) =>
        Interval(life => BestThrough(share, life), Best.Quantile(share), confidence);

    private (double Lower, double Upper) Interval(Func<double, Weibull> profile, double best, double confidence)
    {
        var drop = 0.5 * ChiSquareOne(confidence);
        double Excess(double logValue) => LogLikelihood - drop - profile(Math.Exp(logValue)).LogLikelihood(Lives);
        return (Edge(-1), Edge(1));

        double Edge(int direction)
        {
            var (inside, outside) = (Math.Log(best), Math.Log(best) + (0.1 * direction));
            for (var i = 0; i < 60 && !(Excess(outside) > 0); i++)
            {
                (inside, outside) = (outside, outside + (0.1 * direction * Math.Pow(1.3, i)));
            }

            if (!(Excess(outside) > 0))
            {
                return direction < 0 ? 0 : double.PositiveInfinity;
            }

            return Math.Exp(Brent.FindRoot(Excess, Math.Min(inside, outside), Math.Max(inside, outside), 1e-10, 200));
        }
    }

    /// <summary>The likeliest distribution in which <paramref name="share"/> has failed by <paramref name="life"/>: golden section over the shape.</summary>
    private Weibull BestThrough(double share, double life)
    {
        Weibull At(double logShape) => new(Math.Exp(logShape), life / Math.Pow(-double.LogP1(-share), Math.Exp(-logShape)));
        var golden = (Math.Sqrt(5) - 1) / 2;
        var (low, high) = (Math.Log(Best.Shape) - 4, Math.Log(Best.Shape) + 3);
        var (a, b) = (high - (golden * (high - low)), low + (golden * (high - low)));
        var (fa, fb) = (At(a).LogLikelihood(Lives), At(b).LogLikelihood(Lives));
        for (var i = 0; i < 60; i++)
        {
            if (fa > fb)
            {
                (high, b, fb) = (b, a, fa);
                a = high - (golden * (high - low));
                fa = At(a).LogLikelihood(Lives);
            }
            else
            {
                (low, a, fa) = (a, b, fb);
                b = low + (golden * (high - low));
                fb = At(b).LogLikelihood(Lives);
            }
        }

        return At(0.5 * (low + high));
    }

    private static double ChiSquareOne(double confidence)
    {
        var z = NormalTail.Quantile(0.5 + (confidence / 2));
        return z * z;
    }

    private static double ScaleFor(IReadOnlyList<Lifetime> lives, double shape, int failures)
    {
        // Relative to the longest life, so that no power overflows.
        var longest = lives.Max(l => l.Use);
        return longest * Math.Pow(lives.Sum(l => Math.Pow(l.Use / longest, shape)) / failures, 1 / shape);
    }

    /// <summary>Derivative of the profile log-likelihood, over the number of failures: falls in the shape.</summary>
    private static double Score(IReadOnlyList<Lifetime> lives, double shape)
    {
        var longest = lives.Max(l => l.Use);
        var (weighted, sum, failedLogs, failures) = (0.0, 0.0, 0.0, 0);
        foreach (var life in lives)
        {
            var log = Math.Log(life.Use / longest);
            var power = Math.Exp(shape * log);
            weighted += power * log;
            sum += power;
            if (life.Failed)
            {
                failedLogs += log;
                failures++;
            }
        }

        return (1 / shape) - (weighted / sum) + (failedLogs / failures);
    }
}
