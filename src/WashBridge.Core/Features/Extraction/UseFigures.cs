using WashBridge.Core.Cycles;

namespace WashBridge.Core.Features.Extraction;

/// <summary>How many kegs there were, and how often the drain valve moved.</summary>
internal static class UseFigures
{
    public static void Take(Extraction of)
    {
        of.Figures.Add("kegs", 0, Estimate.Exact(of.Occupied.Count));

        // Every drain step opens the valve once; of a cycle that was watched from its start to its end none is missing.
        if (of.View.IsWhole && of.Steps.TrueForAll(s => s.Step.Seen))
        {
            of.Figures.Add("drain-valve-use", 0, Estimate.Exact(of.Steps.Count(s => s.Step.Kind == StepKind.Drain)));
        }
    }
}
