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
        // Every cycle of every station asks, among some hundred figures: those that matter are picked out once.
        var (drains, liquids, sprays, anyLiquid) = (new List<Feature>(), new List<Feature>(), new List<Feature>(), false);
        foreach (ref readonly var figure in FigureSpan.Of(features.Figures))
        {
            if (figure.Name.StartsWith(Time, StringComparison.Ordinal))
            {
                AddIf(drains, figure, figure.Station == station);
            }
            else if (figure.Name.StartsWith(Liquid, StringComparison.Ordinal))
            {
                anyLiquid = true;
                AddIf(liquids, figure, figure.Station == station || figure.Station == 0);
            }
            else if (figure.Name.StartsWith(Spray, StringComparison.Ordinal))
            {
                AddIf(sprays, figure, figure.Station == station || figure.Station == 0);
            }
        }

        // One measure for all drains: litres and seconds do not go into one line.
        var (measured, prefix) = anyLiquid ? (liquids, Liquid.Length) : (sprays, Spray.Length);
        return drains.ConvertAll(drain =>
        {
            var litres = LitresOf(measured, prefix, drain.Name.AsSpan(Time.Length), station);
            return new DrainReading(drain.Name[Time.Length..], drain.Value, drain.Uncertainty, litres?.Value ?? double.NaN, litres?.Uncertainty ?? 0);
        });
    }

    private static void AddIf(List<Feature> list, Feature figure, bool isOfStation)
    {
        if (isOfStation && figure.Value > 0)
        {
            list.Add(figure);
        }
    }

    // A flow meter for all stations tells a mean for each keg: the station's own figure goes first.
    private static Feature? LitresOf(List<Feature> measured, int prefix, ReadOnlySpan<char> drain, int station)
    {
        Feature? shared = null;
        foreach (var figure in measured)
        {
            if (figure.Name.AsSpan(prefix).SequenceEqual(drain))
            {
                if (figure.Station == station)
                {
                    return figure;
                }

                shared = figure;
            }
        }

        return shared;
    }
}
