namespace WashBridge.Analysis.Charts;

/// <summary>
/// The charts of a figure often signal together, so that each may signal a little more often than its share; the rarer the alarms, the less they coincide. The line is fitted
/// to simulated independent normal values between N = 1,000 and 100,000; beyond it is carried on. Whether the promise is kept with it is what the bench
/// <c>analysis-charts</c> measures, from 1,000 to 500,000.
/// </summary>
internal static class ChartOverlap
{
    /// <summary>By what the charts' run lengths may be shorter than their shares of the promise.</summary>
    public static double Factor(double every)
    {
        var overlap = Math.Min(1, 0.734 + (0.04 * Math.Max(0, Math.Log10(every) - 3)));

        // Each false alarm takes values out of the reference that looked as if they had drifted: with many false alarms it becomes a little too narrow (measured, N = 1,000).
        return overlap * (1 + (140 / every));
    }
}
