using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts;
using static WashBridge.Core.Tests.Verdicts.CycleScript;

namespace WashBridge.Core.Tests.Verdicts;

/// <summary>Short ways to ask for one thing.</summary>
internal static class Asked
{
    public static EdgeName StartOf(string phase, StepKind? step = null) => new(phase, step, EdgeSide.Start);

    public static EdgeName EndOf(string phase, StepKind? step = null) => new(phase, step, EdgeSide.End);

    public static TimeSpan? Seconds(double? seconds) => seconds is { } value ? TimeSpan.FromSeconds(value) : null;

    public static ContactTime Contact(EdgeName from, EdgeName to, double? atLeast = null, double? atMost = null, bool everyPass = false) =>
        new() { Id = "contact", From = from, To = to, AtLeast = Seconds(atLeast), AtMost = Seconds(atMost), EveryPass = everyPass };

    public static Recipe Recipe(params Requirement[] requirements) => new() { Id = "standard", Version = 3, Requirements = requirements };

    public static RequirementResult Judged(this CycleScript script, Requirement requirement, DecisionRule? rule = null, IReadOnlyList<Frame>? frames = null) =>
        Judge.Decide(script.Build(), frames ?? Heartbeats(-5, 600), Recipe(requirement) with { Rule = rule ?? DecisionRule.Bounds }, [])[0].Results[0];

    public static CycleScript Sanitise(this CycleScript script, double spray, double hold) =>
        script.Phase("sanitise", PhaseKind.Sanitise).Pass(new(StepKind.WallSpray, spray), new(StepKind.Hold, hold), new(StepKind.Drain, 10));
}
