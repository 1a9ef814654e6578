using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
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

    /// <summary>The severity of an OPC UA status code (OPC 10000-4, 7.39).</summary>
    public static long Number(Quality quality) => (long)quality;
}
