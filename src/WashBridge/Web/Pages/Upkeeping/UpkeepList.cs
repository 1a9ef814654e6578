using WashBridge.Core.Upkeep;
using WashBridge.Reporting;
using WashBridge.Web.Trends;

namespace WashBridge.Web.Pages.Upkeeping;

/// <summary>Parts by what stops the line first.</summary>
/// <param name="Coming">At or near a limit: those due first foremost.</param>
/// <param name="Well">No trend towards a limit.</param>
/// <param name="Unknown">Not enough evidence.</param>
internal sealed record UpkeepList(IReadOnlyList<ForecastLine> Coming, IReadOnlyList<ForecastLine> Well, IReadOnlyList<ForecastLine> Unknown)
{
    /// <param name="washer">Of this one only; null: of all.</param>
    public static UpkeepList Of(Findings findings, string? washer)
    {
        var lines = findings.Forecasts.Where(l => washer is null || l.Made.Washer == washer).ToList();
        return new UpkeepList(
            [
                .. lines.Where(l => l.Forecast.State >= ForecastState.Approaching)
                    .OrderByDescending(l => l.Forecast.State)
                    .ThenBy(l => l.Forecast.Due?.UnixMicroseconds ?? long.MaxValue)
                    .ThenBy(l => l.Forecast.CyclesLeft ?? double.MaxValue),
            ],
            [.. lines.Where(l => l.Forecast.State == ForecastState.NoTrend)],
            [.. lines.Where(l => l.Forecast.State == ForecastState.NotEnoughEvidence)]);
    }

    /// <summary>How far an index went from its reference to its limit, 0 to 1; null: not known. The reference is the first value that was told.</summary>
    public static double? Way(ForecastLine line)
    {
        if (line.Forecast is not { Now: { } now, Limit: { } limit } || line.History.Count == 0)
        {
            return null;
        }

        var reference = line.History[0].Value;
        return Math.Abs(limit - reference) < 1e-9 ? null : Math.Clamp((now - reference) / (limit - reference), 0, 1);
    }
}
