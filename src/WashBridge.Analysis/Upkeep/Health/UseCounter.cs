using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>What ages a kind of part, as far as it is measured; else cycles.</summary>
internal static class UseCounter
{
    /// <summary>For people: unit of the use.</summary>
    public static string Unit(ComponentKind kind) => kind switch
    {
        ComponentKind.DrainValve => "movements",
        ComponentKind.SprayPump => "hours of running",
        ComponentKind.DosingTube => "hours of dosing",
        ComponentKind.DosingCheckValve => "hours with chemical in the line",
        _ => "cycles",
    };

    /// <summary>A longer stop is a closed site whose lines were emptied, for all one knows.</summary>
    private const double LongestStandingHours = 24 * 14;

    /// <summary>Use since the cycle before; null: its figure is missing in this cycle.</summary>
    /// <param name="since">From the end of the cycle before to the end of this one; null: not known.</param>
    public static double? Of(Component component, CycleFeatures features, TimeSpan? since) => component.Kind switch
    {
        ComponentKind.DrainValve => Find(features, "drain-valve-use", component.Station) ?? Find(features, "drain-valve-use", 0),
        ComponentKind.SprayPump => Find(features, "pump-run-time", 0) / 3600,
        ComponentKind.DosingTube => Find(features, "dosing-time/" + component.Of, 0) / 3600,

        // Pumped or at rest: chemical is in the line all the time.
        ComponentKind.DosingCheckValve => since is { TotalHours: >= 0 and <= LongestStandingHours } standing ? standing.TotalHours : null,
        _ => 1,
    };

    private static double? Find(CycleFeatures features, string name, int station)
    {
        foreach (ref readonly var figure in FigureSpan.Of(features.Figures))
        {
            if (figure.Station == station && figure.Name == name)
            {
                return figure.Value;
            }
        }

        return null;
    }
}
