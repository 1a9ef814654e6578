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

    public static AlarmPriority Of(DriftFinding finding)
    {
        var family = FeatureCatalogue.Find(finding.Feature);
        if (finding.Chart == ChartKind.Group)
        {
            return finding.Contributions.Any(c => c.Share >= 0.5 && OfKegs.Contains(Feature.FamilyOf(c.Feature).Split('@')[0])) ? AlarmPriority.Medium : AlarmPriority.Low;
        }

        var isBad = family is null || family.Worse == Worse.Either || (family.Worse == Worse.Higher) == (finding.Size >= 0);
        return isBad && OfKegs.Contains(family?.Name ?? "") ? AlarmPriority.Medium : AlarmPriority.Low;
    }

    /// <summary>Less than approved is what a keg suffers from.</summary>
    public static AlarmPriority Of(SetpointFinding finding) => finding.Set < finding.Approved ? AlarmPriority.High : AlarmPriority.Medium;

    public static AlarmPriority Of(Forecast forecast) => forecast.State == ForecastState.Reached ? AlarmPriority.High : AlarmPriority.Medium;
}
