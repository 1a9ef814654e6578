using WashBridge.Analysis.Alarms;
using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Setpoints;
using WashBridge.Analysis.Upkeep;

namespace WashBridge.Analysis;

/// <summary>Puts the analysis of a washer together. The order of its watches is that in which they build on one another.</summary>
public static class AnalysisFactory
{
    public static WasherAnalysis Create(AnalysisSettings settings) => new(Watches(settings));

    internal static IReadOnlyList<IWatch> Watches(AnalysisSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        IEnumerable<IWatch> setpoints = settings.Recipes is { } recipes ? [new SetpointWatch(recipes)] : [];
        return [.. setpoints, new DriftWatch(settings), new UpkeepWatch(settings), new AlarmWatch(settings)];
    }
}
