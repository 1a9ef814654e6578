using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;

namespace WashBridge.Reporting;

/// <summary>What the analysis says of a period: what drifts, what will need maintenance and when, who is unlike its peers, settings that left the recipe, and alarms.</summary>
internal sealed record AnalysisReport
{
    public required Instant From { get; init; }

    public required Instant Until { get; init; }

    /// <summary>The zone in which times are shown.</summary>
    public required TimeZoneInfo Zone { get; init; }

    /// <summary>In the order in which they were found; those that had ended before the period are left out.</summary>
    public required IReadOnlyList<DriftLine> Drifts { get; init; }

    /// <summary>The last forecast of each component at the end of the period, those that come first foremost.</summary>
    public required IReadOnlyList<ForecastLine> Forecasts { get; init; }

    /// <summary>Forecasts that maintenance in the period put to the test.</summary>
    public required IReadOnlyList<ForecastScored> Scores { get; init; }

    public required IReadOnlyList<DeviationLine> Deviations { get; init; }

    /// <summary>How alarms stand at the end of the period.</summary>
    public required AlarmBoard Alarms { get; init; }

    public required AlarmFigures Figures { get; init; }

    /// <summary>How washers and stations stand beside their peers; null: there is nobody to compare.</summary>
    public PeerReport? Peers { get; init; }

    /// <summary>Whether the findings were folded anew, and how that compares with those stored; null: they are those stored.</summary>
    public Recomputation? Recomputed { get; init; }

    public string Local(Instant instant) => TimeZoneInfo.ConvertTime(instant.ToDateTimeOffset(), Zone).ToString("yyyy-MM-dd HH:mm:ss zzz");

    public string Day(Instant instant) => TimeZoneInfo.ConvertTime(instant.ToDateTimeOffset(), Zone).ToString("yyyy-MM-dd HH:mm zzz");

    /// <summary>The findings that a historian holds of a period and before it.</summary>
    public static IReadOnlyList<WashEvent> Stored(IHistorianReader historian, string? washer, Instant until) =>
        historian.ReadEvents(new EventQuery { Washer = washer, Kinds = AnalysisInputs.Findings, Until = until });

    /// <param name="findings">All findings up to the end of the period, those before it included, in the order of the log.</param>
    public static AnalysisReport Of(IReadOnlyList<WashEvent> findings, Instant from, Instant until, TimeZoneInfo zone)
    {
        var board = new AlarmBoard();
        foreach (var change in findings.OfType<AlarmChanged>())
        {
            board.Take(change);
        }

        return new AnalysisReport
        {
            From = from,
            Until = until,
            Zone = zone,
            Drifts = [.. DriftLine.Of(findings).Where(d => d.Ended is null || d.Ended.At.Latest >= from)],
            Forecasts = ForecastLine.Of(findings),
            Scores = [.. findings.OfType<ForecastScored>().Where(s => s.At.Latest >= from)],
            Deviations = [.. DeviationLine.Of(findings).Where(d => d.Conformed is null || d.Conformed >= from)],
            Alarms = board,
            Figures = AlarmFigures.Of(findings.OfType<AlarmChanged>(), from, until),
        };
    }
}

/// <summary>A drift from when it was found to its end.</summary>
/// <param name="Found">As it was told last.</param>
/// <param name="FirstFound">When it was told first.</param>
/// <param name="Ended">Null: it still drifts.</param>
public sealed record DriftLine(DriftFound Found, Instant FirstFound, DriftEnded? Ended)
{
    public DriftFinding Finding => Found.Finding;

    public static IEnumerable<DriftLine> Of(IEnumerable<WashEvent> findings)
    {
        var fold = new DriftFold();
        foreach (var finding in findings)
        {
            fold.Take(finding);
        }

        return fold.Lines;
    }
}

/// <summary>The forecast of a component, with how it came about.</summary>
/// <param name="Made">The last one.</param>
/// <param name="History">The index at earlier forecasts since the reference began: cycles since then, and value.</param>
public sealed record ForecastLine(ForecastMade Made, IReadOnlyList<(double Cycles, double Value)> History)
{
    public Forecast Forecast => Made.Forecast;

    public static IReadOnlyList<ForecastLine> Of(IEnumerable<WashEvent> findings) => InOrder(findings.OfType<ForecastMade>()
        .GroupBy(m => (m.Washer, m.Forecast.Component.Key))
        .Select(g => OfOne([.. g])));

    /// <param name="made">Of one component, in order; at least one.</param>
    public static ForecastLine OfOne(IReadOnlyList<ForecastMade> made) => new(made[^1], Course(made));

    /// <summary>Those that come first foremost.</summary>
    public static IReadOnlyList<ForecastLine> InOrder(IEnumerable<ForecastLine> lines) =>
    [
        .. lines
            .OrderByDescending(l => l.Forecast.State).ThenBy(l => l.Forecast.CyclesLeft ?? double.MaxValue).ThenBy(l => l.Made.Washer, StringComparer.Ordinal).ThenBy(l => l.Forecast.Component.Key, StringComparer.Ordinal),
    ];

    /// <summary>Cycles count anew with every reference: only those since the last one belong together.</summary>
    private static List<(double Cycles, double Value)> Course(IReadOnlyList<ForecastMade> made)
    {
        var first = made.Count - 1;
        while (first > 0 && made[first - 1].Forecast.Cycles <= made[first].Forecast.Cycles && made[first - 1].Forecast.Index == made[^1].Forecast.Index)
        {
            first--;
        }

        return [.. made.Skip(first).Where(m => m.Forecast.Now is not null).Select(m => ((double)m.Forecast.Cycles, m.Forecast.Now!.Value))];
    }
}

/// <summary>A setting that differs, or differed, from the approved one.</summary>
/// <param name="Since">When it was told.</param>
/// <param name="Conformed">Null: it still differs.</param>
public sealed record DeviationLine(string Washer, SetpointFinding Finding, Instant Since, Instant? Conformed)
{
    public static IEnumerable<DeviationLine> Of(IEnumerable<WashEvent> findings)
    {
        var fold = new DeviationFold();
        foreach (var finding in findings)
        {
            fold.Take(finding);
        }

        return fold.Lines;
    }
}
