using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Features.Extraction;

/// <summary>A step and what is sure of it.</summary>
/// <param name="Phase">Its phase.</param>
/// <param name="Pass">From 1.</param>
/// <param name="Step">As recorded.</param>
/// <param name="IsWhole">Seen, followed from its start to its end without a gap or a pause, and not left by a fault or an abort.</param>
/// <param name="Inner">The stretch in which it certainly ran, where nothing interrupts it and no read failed.</param>
internal sealed record StepView(PhaseRecord Phase, int Pass, StepRecord Step, bool IsWhole, Window? Inner)
{
    /// <summary>More of the phase than was seen can have run.</summary>
    public bool CanHide { get; init; }

    /// <summary>Which pass it was is known: none can have run unseen before it.</summary>
    public bool IsPassKnown { get; init; }

    public bool IsSpray => Step.Kind is StepKind.WallSpray or StepKind.SpearRinse;

    public static List<StepView> Of(CycleView view, FrameIndex index)
    {
        var steps = new List<StepView>();
        foreach (var phase in view.Cycle.Phases)
        {
            var (canHide, beganUnseen) = (view.CanHide(phase), view.IsUnseenStart(phase.Start));
            foreach (var pass in phase.Passes)
            {
                foreach (var step in pass.Steps)
                {
                    var known = Of(view, phase, pass.Number, step);
                    steps.Add(known with
                    {
                        CanHide = canHide,
                        IsPassKnown = !beganUnseen && !view.HasGap(phase.Start.Earliest, step.Start.Latest),
                        Inner = known.Inner is { } inner && index.HasFailure(inner) ? null : known.Inner,
                    });
                }
            }
        }

        // Of a cycle whose end nobody saw the last step may have gone on, and others followed.
        if (view.Cycle.Outcome == CycleOutcome.EndUnseen && steps.Count > 0)
        {
            steps[^1] = steps[^1] with { IsWhole = false };
        }

        return steps;
    }

    private static StepView Of(CycleView view, PhaseRecord phase, int pass, StepRecord step)
    {
        if (!step.Seen)
        {
            return new StepView(phase, pass, step, false, null);
        }

        var (start, end) = (step.Start, step.End);
        var isDisturbed = view.HasGap(start.Earliest, end.Latest) || view.HasPause(start.Earliest, end.Latest);
        if (!isDisturbed)
        {
            return new StepView(phase, pass, step, !step.Interrupted && !view.IsUnseenStart(start), Window.Between(start.Latest, end.Earliest));
        }

        end = view.WithPauses(end);
        var isBroken = view.HasGap(start.Latest, end.Earliest) || view.HasPause(start.Latest, end.Earliest);
        return new StepView(phase, pass, step, false, isBroken ? null : Window.Between(start.Latest, end.Earliest));
    }
}
