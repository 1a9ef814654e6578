using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>What a recipe asks, in words.</summary>
internal static class RequirementWords
{
    public static string Title(Requirement? requirement, string id) => requirement is { Title.Length: > 0 } ? $"{requirement.Title} ({id})" : id == Judge.ProgrammeComplete ? "The programme ran from its first step to its last (programme-complete)" : id;

    /// <summary>The limits; of a recipe that is not at hand, the one that decided.</summary>
    public static string Asked(Requirement? requirement, RequirementResult result) => requirement switch
    {
        ContactTime contact => Times(contact.AtLeast, contact.AtMost),
        StepTime step => Times(step.AtLeast, step.AtMost),
        TimeBeyond beyond => $"at least {Seconds(beyond.AtLeast)}",
        PassCount passes => $"at least {passes.AtLeast}",
        SwingCount swings => $"at least {swings.AtLeast}",
        DrainLimit drains => $"at most {Seconds(drains.AtMost)}",
        ResidualOxygen oxygen => $"at most {CellWords.Number(oxygen.AtMost)} (volume fraction)",
        ThermalDose dose => $"at least {CellWords.Number(dose.AtLeast)} {(dose.Method == DoseMethod.A0 ? "s" : "PU")}",
        PhaseOrder order => "in this order: " + string.Join(", ", order.Phases),
        _ => result.Limit is { } limit ? $"limit {CellWords.Of(new NumberCell(limit, result.Unit), TimeZoneInfo.Utc)}" : "",
    };

    public static string Rule(DecisionRule rule) => rule.Method == DecisionMethod.Bounds
        ? "bounds: met only where the whole interval conforms, not met only where all of it misses"
        : FormattableString.Invariant($"guard band after JCGM 106:2012, 8.3, at a risk of {rule.Risk:P1} of a false decision");

    private static string Times(TimeSpan? least, TimeSpan? most) => string.Join(", ", new[] { least is { } l ? $"at least {Seconds(l)}" : "", most is { } m ? $"at most {Seconds(m)}" : "" }.Where(t => t.Length > 0));

    private static string Seconds(TimeSpan time) => $"{CellWords.Number(time.TotalSeconds)} s";
}
