using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;

namespace WashBridge.Forwarding;

/// <summary>
/// Tag values for what is an enumeration in the code. Written out, so that renaming a member cannot change a promised name: a value that
/// has no word here is a mistake that shows at once.
/// </summary>
internal static class Words
{
    public static string Of(PhaseKind kind) => kind switch
    {
        PhaseKind.Rinse => "rinse",
        PhaseKind.CausticWash => "caustic-wash",
        PhaseKind.AcidWash => "acid-wash",
        PhaseKind.Sanitise => "sanitise",
        PhaseKind.Evacuate => "evacuate",
        PhaseKind.Purge => "purge",
        PhaseKind.HeatSanitise => "heat-sanitise",
        _ => throw new LineProtocolException($"no word for phase kind {kind}"),
    };

    public static string Of(StepKind kind) => kind switch
    {
        StepKind.WallSpray => "wall-spray",
        StepKind.SpearRinse => "spear-rinse",
        StepKind.Hold => "hold",
        StepKind.Drain => "drain",
        StepKind.Pressurise => "pressurise",
        StepKind.Vent => "vent",
        _ => throw new LineProtocolException($"no word for step kind {kind}"),
    };

    public static string Of(CycleOutcome outcome) => outcome switch
    {
        CycleOutcome.Completed => "completed",
        CycleOutcome.Aborted => "aborted",
        CycleOutcome.EndUnseen => "end-unseen",
        _ => throw new LineProtocolException($"no word for outcome {outcome}"),
    };

    public static string Of(RecipeStep step) => step switch
    {
        RecipeStep.Drafted => "drafted",
        RecipeStep.Submitted => "submitted",
        RecipeStep.Approved => "approved",
        RecipeStep.Refused => "refused",
        RecipeStep.Withdrawn => "withdrawn",
        RecipeStep.Retired => "retired",
        _ => throw new LineProtocolException($"no word for recipe step {step}"),
    };

    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Met => "met",
        Verdict.NotMet => "not-met",
        Verdict.NotProven => "not-proven",
        _ => throw new LineProtocolException($"no word for verdict {verdict}"),
    };

    public static string Of(DecisionMethod method) => method switch
    {
        DecisionMethod.Bounds => "bounds",
        DecisionMethod.GuardBand => "guard-band",
        _ => throw new LineProtocolException($"no word for decision rule {method}"),
    };

    public static string Of(KegIdSource source) => source switch
    {
        KegIdSource.Tag => "tag",
        KegIdSource.Scan => "scan",
        KegIdSource.Made => "made",
        _ => throw new LineProtocolException($"no word for keg id source {source}"),
    };

    public static string Of(AlarmState state) => state switch
    {
        AlarmState.Normal => "normal",
        AlarmState.Unacknowledged => "unacknowledged",
        AlarmState.Acknowledged => "acknowledged",
        AlarmState.ReturnedUnacknowledged => "returned-unacknowledged",
        AlarmState.Shelved => "shelved",
        AlarmState.SuppressedByDesign => "suppressed-by-design",
        AlarmState.OutOfService => "out-of-service",
        _ => throw new LineProtocolException($"no word for alarm state {state}"),
    };

    public static string Of(AlarmPriority priority) => priority switch
    {
        AlarmPriority.Low => "low",
        AlarmPriority.Medium => "medium",
        AlarmPriority.High => "high",
        _ => throw new LineProtocolException($"no word for alarm priority {priority}"),
    };

    public static string Of(AlarmOrderKind order) => order switch
    {
        AlarmOrderKind.Acknowledge => "acknowledge",
        AlarmOrderKind.Shelve => "shelve",
        AlarmOrderKind.Unshelve => "unshelve",
        AlarmOrderKind.TakeOutOfService => "out-of-service",
        AlarmOrderKind.ReturnToService => "return",
        _ => throw new LineProtocolException($"no word for alarm order {order}"),
    };

    public static string Of(ChartKind chart) => chart switch
    {
        ChartKind.Individuals => "individuals",
        ChartKind.Ewma => "ewma",
        ChartKind.Cusum => "cusum",
        ChartKind.Group => "group",
        ChartKind.Peers => "peers",
        _ => throw new LineProtocolException($"no word for chart {chart}"),
    };

    public static string Of(ForecastState state) => state switch
    {
        ForecastState.NotEnoughEvidence => "not-enough-evidence",
        ForecastState.NoTrend => "no-trend",
        ForecastState.Approaching => "approaching",
        ForecastState.Reached => "reached",
        _ => throw new LineProtocolException($"no word for forecast state {state}"),
    };

    public static string Of(MaintenanceKind work) => work switch
    {
        MaintenanceKind.Replaced => "replaced",
        MaintenanceKind.Restored => "restored",
        MaintenanceKind.Inspected => "inspected",
        _ => throw new LineProtocolException($"no word for maintenance {work}"),
    };

    public static string Of(KegDecision decision) => decision switch
    {
        KegDecision.Hold => "hold",
        KegDecision.Release => "release",
        KegDecision.Rewash => "rewash",
        _ => throw new LineProtocolException($"no word for decision {decision}"),
    };

    public static string Of(InspectionKind kind) => kind switch
    {
        InspectionKind.SpearPull => "spear-pull",
        InspectionKind.Swab => "swab",
        InspectionKind.Titration => "titration",
        _ => throw new LineProtocolException($"no word for inspection {kind}"),
    };

    /// <summary>The severity of an OPC UA status code (OPC 10000-4, 7.39).</summary>
    public static long Number(Quality quality) => (long)quality;
}
