using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Indices;

/// <summary>A phase's drain as it was in the reference.</summary>
/// <param name="Seconds">Median drain time.</param>
/// <param name="Litres">Median of the liquid delivered; NaN: not known.</param>
/// <param name="Spread">Robust standard deviation of a single drain time, after allowing for its litres.</param>
/// <param name="Count">Drains.</param>
/// <param name="Offset">Seconds by which it takes longer than its litres explain.</param>
internal sealed record DrainNorm(double Seconds, double Litres, double Spread, int Count, double Offset = 0);

/// <summary>
/// Expected drain time of a station: a fixed part and so many seconds a litre, the same for all phases, and an offset for each phase as far as the phases
/// differ by more than their noise. The offsets are random effects whose variance is that of Paule and Mandel (1982), so that they vanish without evidence.
/// </summary>
internal sealed class DrainModel
{
    // Valve and sensor take about so long without any liquid (common practice, no source): decides only where the litres of all phases are alike.
    private const double UsualFixedSeconds = 0.5;
    private const double FixedUncertainty = 1.0;

    private DrainModel(Dictionary<string, DrainNorm> norms) => Norms = norms;

    public Dictionary<string, DrainNorm> Norms { get; }

    /// <summary>Seconds without liquid.</summary>
    public double Fixed { get; private set; }

    public double SecondsPerLitre { get; private set; }

    /// <summary>Standard uncertainties and covariance of the two.</summary>
    public double FixedVariance { get; private set; }

    public double SlopeVariance { get; private set; }

    public double Covariance { get; private set; }

    /// <summary>Standard deviation of the offsets of phases, seconds.</summary>
    public double OffsetSpread { get; private set; }

    public static DrainModel Learn(IReadOnlyDictionary<string, List<DrainReading>> drains)
    {
        var model = new DrainModel([]);
        foreach (var (name, readings) in drains.OrderBy(d => d.Key, StringComparer.Ordinal))
        {
            model.Norms.Add(name, Norm(readings));
        }

        model.FitLine();
        return model;
    }

    /// <summary>A model from what <see cref="Norms"/> holds; the offsets are found anew.</summary>
    public static DrainModel From(IEnumerable<KeyValuePair<string, DrainNorm>> norms)
    {
        var model = new DrainModel(norms.ToDictionary(n => n.Key, n => n.Value, StringComparer.Ordinal));
        model.FitLine();
        return model;
    }

    /// <summary>Seconds that a drain should take; null: nothing is known that it could be compared with.</summary>
    public double? Expected(string name, double litres)
    {
        if (!Norms.TryGetValue(name, out var norm))
        {
            return double.IsNaN(litres) || SecondsPerLitre <= 0 ? null : Fixed + (SecondsPerLitre * litres);
        }

        return double.IsNaN(litres) || double.IsNaN(norm.Litres) ? norm.Seconds : Fixed + norm.Offset + (SecondsPerLitre * litres);
    }

    /// <summary>What all drains with these litres can be wrong by together, seconds: the further from the reference, the more.</summary>
    public double Systematic(string name, double litres)
    {
        if (!Norms.TryGetValue(name, out var norm))
        {
            return Math.Sqrt((OffsetSpread * OffsetSpread) + FixedVariance + (2 * litres * Covariance) + (litres * litres * SlopeVariance));
        }

        if (double.IsNaN(litres) || double.IsNaN(norm.Litres))
        {
            return double.NaN;
        }

        // Where phases differ by more than their litres the line is only nearly straight: its slope may differ from phase to phase by as much.
        var bend = norm.Litres > 0 ? OffsetSpread / norm.Litres : 0;
        return Math.Abs(litres - norm.Litres) * Math.Sqrt(SlopeVariance + (bend * bend));
    }

    private static DrainNorm Norm(List<DrainReading> readings)
    {
        var seconds = Robust.Median(readings.Select(r => r.Seconds));
        var litres = readings.Count(r => double.IsFinite(r.Litres)) > readings.Count / 2 ? Robust.Median(readings.Where(r => double.IsFinite(r.Litres)).Select(r => r.Litres)) : double.NaN;

        // What one knows of a reading is a floor for the spread: a coarse clock can make many readings equal.
        var known = Robust.Median(readings.Select(r => r.Uncertainty));
        var perLitre = litres > 0 ? seconds / litres : 0;
        var spread = Robust.Scale(readings.Select(r => r.Seconds - (double.IsFinite(r.Litres) && litres > 0 ? perLitre * (r.Litres - litres) : 0)));
        return new DrainNorm(seconds, litres, Math.Max(Math.Max(spread, known), 1e-3), readings.Count);
    }

    private void FitLine()
    {
        var known = Norms.Where(n => double.IsFinite(n.Value.Litres)).Select(n => n.Value).ToArray();
        if (known.Length == 0)
        {
            return;
        }

        // As wide as makes the phases' deviations from the line as large as they should be.
        double Excess(double variance)
        {
            Solve(known, variance);
            return known.Sum(n => Math.Pow(Residual(n), 2) / (variance + MeanVariance(n))) - Math.Max(1, known.Length - 1);
        }

        var (low, high) = (0.0, 0.0);
        if (Excess(0) > 0)
        {
            high = 1e-4;
            while (Excess(high) > 0)
            {
                (low, high) = (high, high * 4);
            }

            for (var i = 0; i < 60; i++)
            {
                var middle = 0.5 * (low + high);
                (low, high) = Excess(middle) > 0 ? (middle, high) : (low, middle);
            }
        }

        Solve(known, high);
        OffsetSpread = Math.Sqrt(high);
        foreach (var (name, norm) in Norms.ToArray())
        {
            if (double.IsFinite(norm.Litres))
            {
                Norms[name] = norm with { Offset = Residual(norm) * high / (high + MeanVariance(norm)) };
            }
        }
    }

    private double Residual(DrainNorm norm) => norm.Seconds - Fixed - (SecondsPerLitre * norm.Litres);

    // Of a median of so many drains; a median is 1.25 times as uncertain as a mean.
    private static double MeanVariance(DrainNorm norm) => 1.57 * norm.Spread * norm.Spread / norm.Count;

    /// <summary>Weighted least squares with the usual fixed part as one more observation.</summary>
    private void Solve(DrainNorm[] known, double variance)
    {
        var prior = 1 / (FixedUncertainty * FixedUncertainty);
        double w = prior, wl = 0, wll = 0, wt = prior * UsualFixedSeconds, wlt = 0;
        foreach (var norm in known)
        {
            var weight = 1 / (variance + MeanVariance(norm));
            w += weight;
            wl += weight * norm.Litres;
            wll += weight * norm.Litres * norm.Litres;
            wt += weight * norm.Seconds;
            wlt += weight * norm.Litres * norm.Seconds;
        }

        var determinant = (w * wll) - (wl * wl);
        SecondsPerLitre = ((w * wlt) - (wl * wt)) / determinant;
        Fixed = ((wll * wt) - (wl * wlt)) / determinant;
        (FixedVariance, SlopeVariance, Covariance) = (wll / determinant, w / determinant, -wl / determinant);
    }
}
