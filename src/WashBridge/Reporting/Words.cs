using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Reporting;

/// <summary>How values are said to people, the same in every output.</summary>
internal static class Words
{
    public const string Caution =
        "Hot caustic, acids and oxidising sanitisers burn; CO2 suffocates; kegs are pressure vessels. Wear eye, face and hand protection, "
        + "ventilate and watch CO2 and oxygen, and vent before opening. Follow the site's procedures, product labels, safety data sheets and "
        + "local codes, and leave work on the machine to licensed practice. WashBridge is a monitor, not a safety function.";

    public const string Claim =
        "Met: the shortest time (or the least favourable value) that the readings allow reaches the limit. Not met: even the most favourable "
        + "value misses it. Not proven: the readings allow both. A verdict is evidence; release is a person's decision.";

    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Met => "met",
        Verdict.NotMet => "not met",
        _ => "not proven",
    };

    public static string Of(CycleOutcome outcome) => outcome switch
    {
        CycleOutcome.Completed => "completed",
        CycleOutcome.Aborted => "aborted",
        _ => "end not seen",
    };

    public static string Of(StepKind step) => step switch
    {
        StepKind.WallSpray => "wall spray",
        StepKind.SpearRinse => "spear rinse",
        StepKind.Hold => "hold",
        StepKind.Drain => "drain",
        StepKind.Pressurise => "pressurise",
        _ => "vent",
    };

    /// <summary>Seconds with one decimal, rounded outwards so that the printed bounds still hold.</summary>
    public static string Of(DurationBounds duration)
    {
        var lower = Math.Floor(duration.Lower.TotalSeconds * 10) / 10;
        if (!duration.IsUpperKnown)
        {
            return FormattableString.Invariant($"at least {lower:0.0} s");
        }

        var upper = Math.Ceiling(duration.Upper.TotalSeconds * 10) / 10;
        return FormattableString.Invariant($"{lower:0.0} to {upper:0.0} s");
    }

    /// <summary>The slowest drain of a station, by what is certain about it.</summary>
    public static DrainRecord? SlowestDrain(StationRecord station) => station.Drains.MaxBy(d => d.Time.Lower);
}
