using WashBridge.Analysis;
using WashBridge.Analysis.Upkeep;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>What a site that counts parts as failed as the truth does would tell the analysis of such a washer: see YEARS.md. Heater and drains have no limit set: there the washer decides.</summary>
internal static class YearSettings
{
    private static readonly DayOfWeek[] Workdays = [DayOfWeek.Monday, DayOfWeek.Tuesday, DayOfWeek.Wednesday, DayOfWeek.Thursday, DayOfWeek.Friday];

    /// <param name="truth">Of the year.</param>
    /// <param name="falseAlarmEvery">The promise, in cycles.</param>
    public static AnalysisSettings Of(YearTruth truth, double falseAlarmEvery = 10_000) => new()
    {
        Washer = truth.Washer,
        Stations = truth.Stations,
        FalseAlarmEvery = falseAlarmEvery,
        DrainTimeout = TimeSpan.FromSeconds(truth.DrainTimeoutSeconds),
        Limits = new Dictionary<string, double>(truth.Limits)
        {
            ["spray-head"] = 0.64,
            ["dosing-rate"] = 0.5,
            ["dosing-loss"] = 20,
            ["bath-strength"] = 0.78,
        },
        Shifts = new ShiftPattern(
            [.. ShiftClock.Begins.Select(b => new Shift(Workdays, TimeOnly.FromTimeSpan(b), ShiftClock.Length))],
            new HashSet<DateOnly>(),
            TimeZoneInfo.Utc),
    };
}
