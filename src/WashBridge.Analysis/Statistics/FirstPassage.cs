namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Time at which a Wiener process with drift first reaches a distance: the inverse Gaussian distribution (Schrodinger 1915; Chhikara and Folks
/// 1989). With a drift that is itself only known as a normal distribution: Whitmore 1986. Without overflow for any finite parameters.
/// </summary>
/// <param name="Distance">From where the process is to the limit, above 0.</param>
/// <param name="Drift">Expected change per unit of time; may be 0 or negative, then the limit may never be reached.</param>
/// <param name="Diffusion">Variance per unit of time, 0 or more.</param>
/// <param name="DriftVariance">Variance of the drift as a belief; 0: the drift is known.</param>
public readonly record struct FirstPassage(double Distance, double Drift, double Diffusion, double DriftVariance = 0)
{
    /// <summary>Mean time; infinite unless the drift is known and positive.</summary>
    public double Mean => DriftVariance == 0 && Drift > 0 ? Distance / Drift : double.PositiveInfinity;

    /// <summary>Variance of the time; infinite unless the drift is known and positive.</summary>
    public double Variance => DriftVariance == 0 && Drift > 0 ? Distance * Diffusion / (Drift * Drift * Drift) : double.PositiveInfinity;

    /// <summary>Density at a time above 0; without diffusion there is none unless the drift is uncertain.</summary>
    public double Pdf(double time)
    {
        if (time <= 0)
        {
            return 0;
        }

        var spread = Diffusion + (DriftVariance * time);
        if (spread == 0)
        {
            return 0;
        }

        var off = Distance - (Drift * time);
        var exponent = -off * off / (2 * time * spread);
        return Distance / Math.Sqrt(2 * Math.PI * time * time * time * spread) * Math.Exp(exponent);
    }

    /// <summary>Probability that the limit is reached by a time.</summary>
    public double Cdf(double time)
    {
        if (Distance <= 0)
        {
            return 1;
        }

        if (time <= 0)
        {
            return 0;
        }

        var deviation = Math.Sqrt((Diffusion * time) + (DriftVariance * time * time));
        if (deviation == 0)
        {
            return Drift * time >= Distance ? 1 : 0;
        }

        var direct = NormalTail.Cdf(((Drift * time) - Distance) / deviation);
        return Diffusion == 0 ? direct : Math.Clamp(direct + Returned(time, deviation), 0, 1);
    }

    /// <summary>The time by which the limit is reached with this probability; infinite where it never is.</summary>
    /// <exception cref="ArgumentOutOfRangeException"><paramref name="probability"/> is not above 0 and below 1.</exception>
    public double Quantile(double probability)
    {
        if (probability is not (> 0 and < 1))
        {
            throw new ArgumentOutOfRangeException(nameof(probability), probability, "Allowed: above 0, below 1.");
        }

        if (Distance <= 0)
        {
            return 0;
        }

        var passage = this;
        return TimeQuantile.Find(passage.Cdf, probability, Drift > 0 ? Distance / Drift : Distance);
    }

    /// <summary>
    /// Paths that were beyond the limit before and are below it now: exp(w) Phi(-u), where both factors leave the doubles. As w - u²/2 is
    /// -(distance - drift x time)²/(2 deviation²), the product is that of two tame ones.
    /// </summary>
    private double Returned(double time, double deviation)
    {
        var score = (Distance + (Drift * time) + (2 * DriftVariance * Distance * time / Diffusion)) / deviation;
        if (score < 0)
        {
            var weight = (2 * Drift * Distance / Diffusion) + (2 * DriftVariance * Distance * Distance / (Diffusion * Diffusion));
            return Math.Exp(Math.Min(0, weight)) * NormalTail.Cdf(-score);
        }

        var off = (Distance - (Drift * time)) / deviation;
        return Math.Exp(-0.5 * off * off) * NormalTail.ScaledUpper(score);
    }
}
