using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Upkeep;

/// <summary>What the site's own replacements say of how long a kind of part lasts.</summary>
/// <param name="Shape">Of the Weibull distribution.</param>
/// <param name="B10">Use by which one in ten has failed.</param>
/// <param name="Failures">Lives that ended in a failure.</param>
/// <param name="Lives">All, those ended before a failure included.</param>
/// <param name="Lower">Further use by which one in ten fails, at the age given.</param>
/// <param name="Median">By which half fail.</param>
/// <param name="Upper">By which nine in ten fail.</param>
public sealed record LifeByUse(double Shape, double B10, int Failures, int Lives, double Lower, double Median, double Upper)
{
    /// <summary>With fewer failures nothing is said.</summary>
    public const int LeastFailures = 3;

    /// <param name="lives">Of parts of this kind at this site.</param>
    /// <param name="age">Use of the part that is in now, 0 or more.</param>
    /// <returns>Null: not enough evidence.</returns>
    public static LifeByUse? Of(IReadOnlyList<Lifetime> lives, double age)
    {
        ArgumentNullException.ThrowIfNull(lives);
        if (lives.Count(l => l.Failed) < LeastFailures || WeibullFit.Of(lives) is not { } fit)
        {
            return null;
        }

        // So few failures leave shape and scale uncertain: the outer quantiles are those of a mean over their likely values.
        var likely = Likely(fit);
        double Left(double share) => TimeQuantile.Find(
            use => likely.Sum(l => l.Share * (1 - Math.Exp(Math.Pow(age / l.Life.Scale, l.Life.Shape) - Math.Pow((age + use) / l.Life.Scale, l.Life.Shape)))),
            share, fit.Best.Scale);
        return new(fit.Best.Shape, fit.B10, fit.Failures, lives.Count, Left(0.1), Left(0.5), Left(0.9));
    }

    /// <summary>Shapes and scales around the fit, each by its likelihood; flat in their logarithms before.</summary>
    private static List<(Weibull Life, double Share)> Likely(WeibullFit fit)
    {
        var all = new List<(Weibull Life, double Weight)>();
        var width = 1 / Math.Sqrt(fit.Failures);
        for (var i = -8; i <= 8; i++)
        {
            for (var j = -8; j <= 8; j++)
            {
                var shape = fit.Best.Shape * Math.Exp(0.4 * i * width);
                var life = new Weibull(shape, fit.Best.Scale * Math.Exp(0.4 * j * width / fit.Best.Shape));
                all.Add((life, Math.Exp(life.LogLikelihood(fit.Lives) - fit.LogLikelihood)));
            }
        }

        var sum = all.Sum(a => a.Weight);
        return all.Where(a => a.Weight > 1e-4).Select(a => (a.Life, a.Weight / sum)).ToList();
    }
}
