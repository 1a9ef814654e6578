namespace WashBridge.Analysis.Statistics;

/// <summary>The Weibull distribution of lives.</summary>
/// <param name="Shape">Above 1: wears out; 1: fails by chance; below 1: early failures.</param>
/// <param name="Scale">Life by which 63.2 % have failed.</param>
public readonly record struct Weibull(double Shape, double Scale)
{
    public double Survival(double use) => use <= 0 ? 1 : Math.Exp(-Math.Pow(use / Scale, Shape));

    public double Cdf(double use) => use <= 0 ? 0 : -double.ExpM1(-Math.Pow(use / Scale, Shape));

    /// <summary>Life by which this share has failed; 0.1 gives B10.</summary>
    public double Quantile(double share) => Scale * Math.Pow(-double.LogP1(-share), 1 / Shape);

    /// <summary>Further use by which this share of the pieces that have come to <paramref name="age"/> has failed.</summary>
    public double ResidualQuantile(double age, double share) =>
        (Scale * Math.Pow(Math.Pow(age / Scale, Shape) - double.LogP1(-share), 1 / Shape)) - age;

    public double LogLikelihood(IEnumerable<Lifetime> lives)
    {
        ArgumentNullException.ThrowIfNull(lives);
        var sum = 0.0;
        foreach (var life in lives)
        {
            var ratio = Math.Log(life.Use / Scale);
            sum -= Math.Exp(Shape * ratio);
            if (life.Failed)
            {
                sum += Math.Log(Shape / Scale) + ((Shape - 1) * ratio);
            }
        }

        return sum;
    }
}
