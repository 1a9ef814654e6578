using WashBridge.Core.Cycles;
using WashBridge.Core.Sampling;
using WashBridge.Core.Upkeep;

namespace WashBridge.Web.Pages.Upkeeping;

/// <summary>How a forecast stood the test.</summary>
public enum ForecastTest
{
    /// <summary>No cycles left were foretold, so that there was nothing to test.</summary>
    NothingForetold = 0,

    /// <summary>The part was changed while the interval still lasted, and had not failed: neither right nor wrong.</summary>
    Untested = 1,
    Within = 2,

    /// <summary>It failed before the interval.</summary>
    Earlier = 3,

    /// <summary>It outlasted the interval.</summary>
    Later = 4,
}

/// <summary>
/// How earlier forecasts did. Only those count that were put to the test: a part that was changed in good time tells nothing about when it would have failed, and counting it as a hit
/// would praise every forecast.
/// </summary>
/// <param name="Tests">Each forecast with its outcome, the latest first.</param>
internal sealed record ForecastRecord(IReadOnlyList<(ForecastScored Scored, ForecastTest Test)> Tests)
{
    /// <summary>The interval is meant to hold the truth in so many of ten.</summary>
    public const int Promised = 8;

    private const double Confidence = 0.9;

    public int Held => Tests.Count(t => t.Test == ForecastTest.Within);

    public int Tested => Tests.Count(t => t.Test is ForecastTest.Within or ForecastTest.Earlier or ForecastTest.Later);

    public int Untested => Tests.Count(t => t.Test == ForecastTest.Untested);

    /// <summary>Between which shares the forecasts hold, with 90 % confidence; null: none was tested.</summary>
    public (double Lower, double Upper)? Share => Tested > 0 && FailureBound.OfProcess(Tested, Tested - Held, Confidence, isTwoSided: true) is var bound ? (1 - bound.UpperRate, 1 - bound.LowerRate) : null;

    /// <param name="scores">In the order of the log.</param>
    /// <param name="work">By id, the work that put them to the test.</param>
    public static ForecastRecord Of(IEnumerable<ForecastScored> scores, IReadOnlyDictionary<string, MaintenanceRecorded> work) =>
        new([.. scores.Reverse().Select(s => (s, Test(s.Score, HadFailed(s, work))))]);

    public static ForecastTest Test(ForecastScore score, bool hadFailed)
    {
        var forecast = score.Forecast;
        if (forecast.CyclesLeft is null)
        {
            return ForecastTest.NothingForetold;
        }

        var (lower, upper) = (forecast.CyclesLeftLower ?? 0, forecast.CyclesLeftUpper ?? double.PositiveInfinity);
        var hasEnded = hadFailed || IsAtLimit(score);
        return (hasEnded, score.CyclesRun) switch
        {
            (_, var run) when run > upper => ForecastTest.Later,
            (true, var run) when run < lower => ForecastTest.Earlier,
            (true, _) => ForecastTest.Within,
            _ => ForecastTest.Untested,
        };
    }

    /// <summary>The limit is what a forecast is about: a part whose index has reached it counts as failed, whether or not the line stopped.</summary>
    private static bool IsAtLimit(ForecastScore score) =>
        score is { Index: { } index, Forecast: { Now: { } now, Limit: { } limit } } && (limit >= now ? index >= limit : index <= limit);

    /// <summary>The score carries the id of its work before its own.</summary>
    private static bool HadFailed(ForecastScored scored, IReadOnlyDictionary<string, MaintenanceRecorded> work) =>
        scored.Id.LastIndexOf("/score/", StringComparison.Ordinal) is > 0 and var end && work.GetValueOrDefault(scored.Id[..end]) is { HadFailed: true };
}
