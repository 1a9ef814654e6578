using WashBridge.Core.Features;

namespace WashBridge.Analysis.Charts;

/// <summary>Each station's difference from the median of the others, in figures that several stations have: what moves all of them alike drops out.</summary>
internal static class StationPeers
{
    /// <summary>Fewer stations have no peers to speak of: with two, one difference says all.</summary>
    public const int Least = 2;

    private const int MostStations = 8;

    /// <param name="figures">By name, of stations in order.</param>
    /// <param name="number">Of the cycle: only stations that have a value of it are compared.</param>
    /// <param name="differences">Filled anew, in the order of the figures.</param>
    public static void Compare(IReadOnlyList<(string Name, WatchedFigure[] Stations)> figures, int number, List<Feature> differences)
    {
        differences.Clear();
        Span<double> values = stackalloc double[MostStations];
        foreach (var (name, stations) in figures)
        {
            var (count, squares) = (0, 0.0);
            foreach (var station in stations)
            {
                if (station.LastCycle == number)
                {
                    values[count++] = station.LastValue;

                    // Not less than the difference's own: one value known badly makes it known badly.
                    squares += station.LastUncertainty * station.LastUncertainty;
                }
            }

            // Of two stations one difference tells all.
            var left = count == 2 ? 1 : count;
            foreach (var station in stations)
            {
                if (count >= Least && station.LastCycle == number && left-- > 0)
                {
                    differences.Add(new Feature(name, station.Station, station.LastValue - Others(values[..count], station.LastValue), Math.Sqrt(squares)));
                }
            }
        }
    }

    /// <summary>Median of the values without one of them.</summary>
    private static double Others(ReadOnlySpan<double> values, double without)
    {
        Span<double> others = stackalloc double[values.Length];
        values.CopyTo(others);
        others.Sort();
        var at = others.IndexOf(without);
        others[(at + 1)..].CopyTo(others[at..]);
        var count = values.Length - 1;
        return count % 2 == 1 ? others[count / 2] : (others[(count / 2) - 1] + others[count / 2]) / 2;
    }
}
