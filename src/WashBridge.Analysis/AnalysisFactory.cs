using WashBridge.Analysis.Alarms;
using WashBridge.Analysis.Charts;

namespace WashBridge.Analysis;

/// <summary>Puts the analysis of a washer together. The order of its watches is that in which they build on one another.</summary>
public static class AnalysisFactory
{
    public static WasherAnalysis Create(AnalysisSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        return new WasherAnalysis([new DriftWatch(settings), new AlarmWatch(settings)]);
    }
}
