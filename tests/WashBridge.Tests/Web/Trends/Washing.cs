using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Tests.Web.Trends;

/// <summary>Cycles, findings and work on the washer <c>north</c> of the demonstration's site, a cycle every five minutes.</summary>
internal static class Washing
{
    public const string Nasty = "<script>alert(1)</script>";

    /// <summary>Sixteen hours before the time at which the trial's pages are asked.</summary>
    public static readonly Instant Start = Instant.Parse("2031-03-04T14:00:00Z");

    public static Instant At(int cycle) => Start + TimeSpan.FromMinutes(5 * cycle);

    public static CycleMeasured Cycle(int number, string recipe = "full-wash", params Feature[] figures) => new()
    {
        Id = $"north-c{number}/measured",
        Washer = "north",
        CycleId = $"north-c{number}",
        At = TimeBounds.At(At(number)),
        Features = new CycleFeatures
        {
            Outcome = CycleOutcome.Completed,
            Started = At(number) - TimeSpan.FromMinutes(3),
            Ended = At(number),
            Recipe = recipe,
            RecipeVersion = 1,
            Kegs = [new WashedKeg(1, $"K{number}a"), new WashedKeg(2, $"K{number}b")],
            Figures = figures,
        },
    };

    public static DriftFound Drift(int cycle, string figure, double size = 0.5, double centre = 1, double spread = 0.01, string unit = "", int onset = 1) => new()
    {
        Id = $"north-c{cycle}/drift/{figure}",
        Washer = "north",
        CycleId = $"north-c{cycle}",
        At = TimeBounds.At(At(cycle)),
        Finding = new DriftFinding
        {
            Feature = figure,
            Chart = ChartKind.Cusum,
            Unit = unit,
            Centre = centre,
            Spread = spread,
            ReferenceCycles = 100,
            Size = size,
            SizeUncertainty = 0.02,
            Onset = new CycleSpan($"north-c{onset}", At(onset), At(onset - 1), At(onset + 1)),
            CyclesTouched = cycle - onset + 1,
            Kegs = [$"K{cycle}b"],
            KegCount = cycle - onset + 1,
            FalseAlarmEvery = 10_000,
        },
    };

    public static DriftEnded DriftEnded(int cycle, string figure) => new()
    {
        Id = $"north-c{cycle}/drift/{figure}/ended", Washer = "north", At = TimeBounds.At(At(cycle)), Feature = figure, Reason = "it is back within its reference",
    };

    public static ForecastMade Forecast(int cycle, Component component, ForecastState state, double? left = null, double now = 1.5, double limit = 3, int? since = null) => new()
    {
        Id = $"north-c{cycle}/forecast/{component.Key}",
        Washer = "north",
        At = TimeBounds.At(At(cycle)),
        Forecast = new Forecast
        {
            Component = component,
            State = state,
            Index = "drain-index@2",
            Unit = "",
            Now = now,
            Limit = limit,
            LimitSource = "the washer's own time-out",
            CyclesLeft = left,
            CyclesLeftLower = left * 0.5,
            CyclesLeftUpper = left * 2,
            Due = left is { } cycles ? At(cycle + (int)cycles) : null,
            DueEarliest = left is { } few ? At(cycle + (int)(few / 2)) : null,
            DueLatest = left is { } many ? At(cycle + (int)(2 * many)) : null,
            Cycles = since ?? cycle,
            Evidence = ["drains are longer than the liquid explains"],
            Causes = state >= ForecastState.Approaching ? [new Cause("clogging-valve", "the drain valve clogs", 0.9, ["other stations are as usual"], []), new Cause("sensor", "the sensor is fouled", 0.1, [], [])] : [],
        },
    };

    public static MaintenanceRecorded Work(int cycle, Component component, MaintenanceKind work = MaintenanceKind.Replaced, bool hadFailed = false, string note = "") => new()
    {
        Id = $"north/maintenance/{component.Key}/{cycle}", Washer = "north", At = TimeBounds.At(At(cycle)), Component = component, Work = work, By = "T. Ester", Note = note, HadFailed = hadFailed,
    };

    public static Act Act(string by = "T. Ester") => new() { By = by };

    public static readonly Component Valve2 = new(ComponentKind.DrainValve, "", 2);
}
