using WashBridge.Core.Features;

namespace WashBridge.Analysis.Indices;

/// <summary>One drain of one station in one cycle.</summary>
/// <param name="Name">Phase and pass, as <c>rinse-after-caustic/1</c>.</param>
/// <param name="Seconds">Drain time.</param>
/// <param name="Uncertainty">Its standard uncertainty.</param>
/// <param name="Litres">Liquid delivered to the keg before it; where no flow is measured, the seconds of the sprays stand for it; NaN: not known.</param>
/// <param name="LitresUncertainty">Its standard uncertainty; 0 where the litres are not known.</param>
internal readonly record struct DrainReading(string Name, double Seconds, double Uncertainty, double Litres, double LitresUncertainty)
{
    private const string Time = "drain-time/";
    private const string Liquid = "liquid/";
    private const string Spray = "spray-time/";

    /// <summary>All drains of a station, in the order of the figures.</summary>
    public static List<DrainReading> Of(CycleFeatures features, int station)
    {
        var readings = new List<DrainReading>();

        // One measure for all drains: litres and seconds do not go into one line.
        var measure = features.Figures.Any(f => f.Name.StartsWith(Liquid, StringComparison.Ordinal)) ? Liquid : Spray;
        foreach (var figure in features.Figures)
        {
            if (figure.Station == station && figure.Value > 0 && figure.Name.StartsWith(Time, StringComparison.Ordinal))
            {
                var name = figure.Name[Time.Length..];
                var litres = LitresOf(features.Figures, measure, name, station);
                readings.Add(new DrainReading(name, figure.Value, figure.Uncertainty, litres?.Value ?? double.NaN, litres?.Uncertainty ?? 0));
            }
        }

        return readings;
    }

    // A flow meter for all stations tells a mean for each keg: the station's own figure goes first.
    private static Feature? LitresOf(IReadOnlyList<Feature> figures, string measure, string drain, int station)
    {
        Feature? shared = null;
        foreach (var figure in figures)
        {
            if (figure.Value > 0 && figure.Name.Length == measure.Length + drain.Length && figure.Name.EndsWith(drain, StringComparison.Ordinal)
                && figure.Name.StartsWith(measure, StringComparison.Ordinal))
            {
                if (figure.Station == station)
                {
                    return figure;
                }

                shared = figure.Station == 0 ? figure : shared;
            }
        }

        return shared;
    }
}
