using System.Globalization;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Upkeep;

namespace WashBridge.Reporting;

/// <summary>How findings are said to people, the same in every output.</summary>
internal static class AnalysisWords
{
    public const string Claim =
        "A drift is a change from the reference period that is too large for chance, given how often a false alarm is borne; some are false. A forecast holds if "
        + "wear goes on as it has: its interval is meant to hold the truth in 8 of 10 cases, and 2 of 10 lie outside. Causes are ranked by how well they fit "
        + "the evidence; the first is the first to look at, not the proven one. \"Not enough evidence\" is an answer. What was not measured is not judged.";

    public const string FiguresNote = "The figures and the values recommended for one operator are those of ANSI/ISA-18.2-2016 and IEC 62682:2014 (recommended values from memory).";

    /// <summary>One in a hundred.</summary>
    private const double LeastWeight = 0.01;

    public static string Size(DriftFinding drift) => drift.Chart == ChartKind.Group
        ? $"{Number(drift.Size)} spreads from usual"
        : $"{(drift.Size >= 0 ? "+" : "")}{Number(drift.Size)}{Unit(drift.Unit)} (u = {Number(drift.SizeUncertainty)}), usual {Number(drift.Centre)}{Unit(drift.Unit)}";

    public static string Title(DriftFinding drift) => $"{FigureTitle.WithPlace(drift.Feature)} ({drift.Feature})";

    public static string Kegs(DriftFinding drift) => drift.KegCount == 0 ? "none known" : $"{drift.KegCount}, the last: {string.Join(", ", drift.Kegs.TakeLast(3))}";

    public static string Of(ForecastState state) => state switch
    {
        ForecastState.NotEnoughEvidence => "not enough evidence",
        ForecastState.NoTrend => "no trend",
        ForecastState.Approaching => "approaching its limit",
        _ => "at its limit",
    };

    public static string Left(Forecast forecast) => (forecast.CyclesLeft, forecast.CyclesLeftLower, forecast.CyclesLeftUpper) switch
    {
        ({ } left, { } lower, { } upper) => $"{Whole(left)} cycles (8 in 10: {Whole(lower)} to {Whole(upper)})",
        ({ } left, _, _) => $"{Whole(left)} cycles",
        (null, { } lower, null) => $"at least {Whole(lower)} cycles (9 in 10)",
        _ => "",
    };

    public static string Due(AnalysisReport report, Forecast forecast) => (forecast.Due, forecast.DueEarliest, forecast.DueLatest) switch
    {
        ({ } due, { } earliest, { } latest) => $"{report.Day(due)} ({report.Day(earliest)} to {report.Day(latest)})",
        ({ } due, _, _) => report.Day(due),
        _ => "",
    };

    public static string Index(Forecast forecast) => forecast.Now is { } now
        ? $"{forecast.Index} {Number(now)}{Unit(forecast.Unit)}{(forecast.Limit is { } limit ? $", limit {Number(limit)}{Unit(forecast.Unit)} ({forecast.LimitSource})" : "")}"
        : forecast.Index;

    /// <summary>What may lie behind a forecast, the likeliest first. Of a part that is well nothing is suspected, and what hardly fits is no help.</summary>
    public static IEnumerable<Cause> Suspects(Forecast forecast) =>
        forecast.State is ForecastState.Approaching or ForecastState.Reached ? forecast.Causes.Where(c => c.Weight >= LeastWeight) : [];

    /// <summary>A forecast in a line, as it is told when it is made.</summary>
    public static string Line(Forecast forecast) =>
        $"forecast for the {forecast.Component.Key}: {Of(forecast.State)}{(Left(forecast) is { Length: > 0 } left ? $", {left} left" : "")}{(Suspects(forecast).FirstOrDefault() is { } first ? $"; likely: {Of(first)}" : "")}";

    public static string Of(Cause cause) => string.Create(CultureInfo.InvariantCulture, $"{cause.Title} {100 * cause.Weight:0} %");

    /// <summary>Put aside, by a person or by design: it needs no more than to be named.</summary>
    public static bool IsAside(AlarmChanged alarm) => alarm.To is AlarmState.Shelved or AlarmState.SuppressedByDesign or AlarmState.OutOfService;

    public static string Of(AlarmState state) => AlarmOrders.Words(state);

    public static string Of(AlarmPriority priority) => priority.ToString().ToLowerInvariant();

    public static string Recommended(AlarmFigure figure) => $"{figure.Recommended}{(figure.IsWithin ? "" : ": NOT KEPT")}";

    public static string Value(AlarmFigure figure) => Number(figure.Value) + Unit(figure.Unit);

    /// <summary>Three figures that count; more would claim what is not known.</summary>
    public static string Number(double number) =>
        number == 0 || !double.IsFinite(number) ? number.ToString(CultureInfo.InvariantCulture)
        : Math.Abs(number) >= 100 ? number.ToString("0", CultureInfo.InvariantCulture)
        : number.ToString("0." + new string('#', Math.Clamp(2 - (int)Math.Floor(Math.Log10(Math.Abs(number))), 0, 9)), CultureInfo.InvariantCulture);

    public static string Unit(string ucum) => ucum.Length == 0 ? "" : " " + ucum;

    private static string Whole(double number) => Math.Round(number).ToString("0", CultureInfo.InvariantCulture);
}
