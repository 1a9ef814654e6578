using WashBridge.Analysis.Upkeep.Forecasting;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep;

/// <summary>Sentences of forecasts and of their scores.</summary>
internal static class ForecastWording
{
    public static IReadOnlyList<string> Evidence(
        ForecastState state, HealthIndex kind, double? now, double? limit, string limitSource, WearOutlook? outlook, LifeByUse? life, ComponentTrack track)
    {
        var lines = new List<string>();
        if (now is { } value)
        {
            lines.Add(limit is { } at
                ? $"{kind.Title}: {Number(value)} now, limit {Number(at)} ({limitSource})"
                : $"{kind.Title}: {Number(value)} now{(limitSource.Length > 0 ? $"; {limitSource}" : "")}");
        }

        lines.Add(state switch
        {
            ForecastState.NotEnoughEvidence => $"{track.Cycles} cycles since the reference began: not enough evidence yet",
            ForecastState.NoTrend => "no trend towards the limit stands out of the noise",
            ForecastState.Reached => "the limit is reached",
            _ => $"a trend since about cycle {outlook!.Onset:0} of the reference: {Signed(outlook.Slope * 1000)} per 1,000 cycles; by chance with a probability of {Chance(outlook.ChanceProbability)}",
        });
        if (state == ForecastState.Approaching)
        {
            lines.Add($"the index speaks, not the part's age; {Shape(outlook!.Power)}");
        }

        if (life is not null)
        {
            lines.Add($"the part's age speaks, not the index: {track.Use:0.#} {UseCounter.Unit(track.Component.Kind)}; of {life.Lives} lives at this site {life.Failures} ended in a failure, one in ten before {life.B10:0.#}");
        }

        return lines;
    }

    public static string Outcome(Forecast forecast, int cyclesRun, bool hadFailed)
    {
        var end = hadFailed ? "it had failed" : "it was still working";
        if (forecast.CyclesLeft is not { } median)
        {
            return $"no cycles left were foretold ({forecast.State}); {end} after {cyclesRun} cycles";
        }

        var (lower, upper) = (forecast.CyclesLeftLower ?? 0, forecast.CyclesLeftUpper ?? double.PositiveInfinity);
        var stretch = double.IsFinite(upper) ? $"{lower:0} to {upper:0}" : $"{lower:0} or more";
        var (isEarly, isLate) = (cyclesRun < lower, cyclesRun > upper);
        var verdict = (hadFailed, isEarly, isLate) switch
        {
            (true, true, _) => "earlier than the interval",
            (_, _, true) => "later than the interval",
            (true, false, false) => "within the interval",
            (false, _, false) => "before the interval was over: neither right nor wrong",
        };
        return $"foretold were {median:0} cycles ({stretch}); {end} after {cyclesRun}: {verdict}";
    }

    private static string Number(double value) => Math.Abs(value) >= 100 ? $"{value:0}" : $"{value:0.###}";

    private static string Signed(double value) => value.ToString("+0.####;-0.####;0");

    private static string Chance(double probability) => probability < 1e-4 ? "less than 0.0001" : $"{probability:0.####}";

    private static string Shape(double power) => power switch
    {
        > 1 => "it slows down",
        1 => "it runs straight",
        _ => "it gets faster",
    };
}
