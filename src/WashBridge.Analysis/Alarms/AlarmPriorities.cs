using WashBridge.Core.Alarms;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Alarms;

/// <summary>How urgent a condition is: by what follows for the kegs, then by how soon.</summary>
internal static class AlarmPriorities
{
    /// <summary>Figures on which it hangs whether a keg is clean, sanitised, rinsed and purged.</summary>
    private static readonly HashSet<string> OfKegs = new(StringComparer.Ordinal)
    {
        "timing", "temperature-mean", "temperature-return", "strength", "spray-pressure", "spray-flow", "rinse-out", "purge-high", "purge-low",
    };

    /// <summary>Somebody would have to do something: it drifts to its bad side, against its own past.</summary>
    public static bool IsAlarm(DriftFinding finding) => finding.Chart switch
    {
        ChartKind.Peers => false,
        ChartKind.Group => true,
        _ => Bad(finding.Feature) is var worse && (worse == Worse.Either || (worse == Worse.Higher) == (finding.Size >= 0)),
    };

    public static AlarmPriority Of(DriftFinding finding)
    {
        var family = FeatureCatalogue.Find(finding.Feature);
        if (finding.Chart == ChartKind.Group)
        {
            return finding.Contributions.Any(c => c.Share >= 0.5 && OfKegs.Contains(Feature.FamilyOf(c.Feature).Split('@')[0])) ? AlarmPriority.Medium : AlarmPriority.Low;
        }

        return OfKegs.Contains(family?.Name ?? "") ? AlarmPriority.Medium : AlarmPriority.Low;
    }

    /// <summary>Less than approved is what a keg suffers from.</summary>
    public static AlarmPriority Of(SetpointFinding finding) => finding.Set < finding.Approved ? AlarmPriority.High : AlarmPriority.Medium;

    public static AlarmPriority Of(Forecast forecast) => forecast.State == ForecastState.Reached ? AlarmPriority.High : AlarmPriority.Medium;

    /// <summary>A drain index is no figure of the catalogue: it is made of several.</summary>
    private static Worse Bad(string feature) => feature.StartsWith("drain-", StringComparison.Ordinal) ? Worse.Higher : FeatureCatalogue.Find(feature)?.Worse ?? Worse.Either;
}
