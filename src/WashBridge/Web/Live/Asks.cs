using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;

namespace WashBridge.Web.Live;

/// <summary>
/// What the recipe asks of the phase that runs, and how far it has come, from the steps seen so far. A picture for now and no verdict: that is reached when the cycle has
/// ended and all was read.
/// </summary>
internal static class Asks
{
    /// <summary>The recipe for the programme that the controller shows. Null: the washer has several, and the controller tells no programme.</summary>
    public static Recipe? RecipeOf(WasherNow washer) =>
        washer.Programme is null && washer.Configuration.RecipesByProgramme.Count > 0 ? null : washer.Configuration.RecipeFor(washer.Programme);

    /// <summary>Those with a time or count to follow first. Drains are told station by station.</summary>
    public static IReadOnlyList<Ask> Of(WasherNow washer, Recipe recipe, Instant now)
    {
        if (washer.Step is not { } step)
        {
            return [];
        }

        return [.. recipe.Requirements.Select(r => Of(r, washer, step, now)).OfType<Ask>().OrderByDescending(a => a.IsMeasured)];
    }

    private static Ask? Of(Requirement requirement, WasherNow washer, StepStarted step, Instant now) => requirement switch
    {
        StepTime r when r.Phase == step.Phase => Ask.OfTime(r, r.AtLeast, r.AtMost, Held(r, washer, step, now)),
        ContactTime r when r.From.Phase == step.Phase || r.To.Phase == step.Phase => Ask.OfTime(r, r.AtLeast, r.AtMost, Between(r, washer, step, now)),
        PassCount r when r.Phase == step.Phase => Ask.OfCount(r, r.AtLeast, step.Pass),
        SwingCount r when r.Phase == step.Phase => Ask.OfCount(r, r.AtLeast, Swings(washer, r.Phase)),
        TimeBeyond r when r.Phases.Contains(step.Phase) => Ask.Later(r, r.AtLeast),
        ThermalDose r when r.Phases.Contains(step.Phase) => Ask.Later(r),
        ResidualOxygen r when r.Phase == step.Phase => Ask.Later(r),
        _ => null,
    };

    private static DurationBounds Held(StepTime requirement, WasherNow washer, StepStarted step, Instant now)
    {
        var over = washer.Over.Where(e => e.Phase == requirement.Phase && e.Step.Kind == requirement.Step && (requirement.Total || e.Pass == step.Pass)).Select(e => e.Step.Held);
        var sum = over.Aggregate(DurationBounds.Zero, (a, b) => a + b);
        return step.Step == requirement.Step ? sum + washer.InStep(now) : sum;
    }

    /// <summary>From the edge named first until now, or until the one named last; a pause runs on.</summary>
    private static DurationBounds Between(ContactTime requirement, WasherNow washer, StepStarted step, Instant now)
    {
        int? pass = requirement.From.Phase == requirement.To.Phase ? step.Pass : null;
        if (Edge(requirement.From, washer, pass) is not { } from)
        {
            return DurationBounds.Zero;
        }

        return Edge(requirement.To, washer, pass) is { } to && to.Latest.Steady >= from.Latest.Steady ? from.Until(to) : washer.Since(from, now);
    }

    /// <param name="pass">Null: the last one.</param>
    private static Edge? Edge(EdgeName name, WasherNow washer, int? pass)
    {
        if (name.Side == EdgeSide.Start)
        {
            var begun = washer.Begun.Where(s => s.Phase == name.Phase && (name.Step is null || (s.Step == name.Step && (pass is null || s.Pass == pass))));
            return (name.Step is null ? begun.FirstOrDefault() : begun.LastOrDefault())?.Edge;
        }

        // A phase is over when another runs.
        return name.Step is null && washer.Step?.Phase == name.Phase
            ? null
            : washer.Over.LastOrDefault(e => e.Phase == name.Phase && (name.Step is null || (e.Step.Kind == name.Step && (pass is null || e.Pass == pass))))?.Step.End;
    }

    private static int Swings(WasherNow washer, string phase) => washer.Over.Count(e => e.Phase == phase && e.Step.Kind == StepKind.Vent);
}
