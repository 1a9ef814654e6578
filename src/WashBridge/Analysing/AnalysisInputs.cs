using WashBridge.Analysis;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;

namespace WashBridge.Analysing;

/// <summary>What the analysis of a washer starts from: its settings, and the kinds of events that it reads.</summary>
internal static class AnalysisInputs
{
    /// <summary>What is told of a washer from outside the analysis. What the analysis finds itself is not among it: it reaches the watches on its way.</summary>
    public static IReadOnlyList<string> Kinds { get; } =
    [
        "cycle-started", "cycle-ended", "cycle-measured", "keg-judged", "setpoint-changed", "source-lost", "source-restored", "clock-stepped", "time-passed",
        "maintenance-recorded", "bath-changed", "alarm-ordered", "recipe-acted",
    ];

    /// <summary>What the analysis tells.</summary>
    public static IReadOnlyList<string> Findings { get; } =
    [
        "drift-found", "drift-ended", "setpoint-deviated", "setpoint-conformed", "forecast-made", "forecast-scored", "alarm-changed", "alarm-order-refused",
    ];

    /// <summary>The event as a washer's analysis takes it: what is told of the whole site is told to each washer, under an id of the washer's own, so that what follows from it has one too.</summary>
    public static WashEvent ToldTo(string washer, WashEvent washEvent) => washEvent.Washer == WashEvent.WholeSite ? washEvent with { Washer = washer, Id = $"{washer}/{washEvent.Id}" } : washEvent;

    /// <summary>Whether it is told to this washer's analysis.</summary>
    public static bool Concerns(string washer, WashEvent washEvent) => washEvent.Washer == washer || washEvent.Washer == WashEvent.WholeSite;

    public static AnalysisSettings Settings(WasherConfiguration washer, Site site) => new()
    {
        Washer = washer.Model.Washer,
        Stations = washer.Model.Stations,
        FalseAlarmEvery = washer.Analysis.FalseAlarmEvery,
        TellSmallChanges = washer.Analysis.TellSmallChanges,
        DrainTimeout = washer.Model.DrainTimeout,
        Limits = washer.Analysis.Limits,
        Shifts = site.Shifts,
        Alarms = washer.Analysis.Alarms,
        Recipes = new ApprovedRecipes(washer.Recipe, washer.RecipesByProgramme),
    };
}
