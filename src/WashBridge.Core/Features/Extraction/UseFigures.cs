using WashBridge.Core.Cycles;

namespace WashBridge.Core.Features.Extraction;

/// <summary>How many kegs there were, and how often the drain valve moved.</summary>
internal static class UseFigures
{
    public static void Take(Extraction of)
    {
        of.Figures.Add("kegs", 0, Estimate.Exact(of.Occupied.Count));
        TakeDrainValve(of);
    }

    /// <summary>By the controller's counter where it has one, else by the valve's flag, else by the drain steps of a cycle of which every step was seen.</summary>
    private static void TakeDrainValve(Extraction of)
    {
        if (of.Index.Own(0, "counter.drain-valve") is { } counter)
        {
            if (of.Since is { } window && counter.ValueAt(window.Epoch, window.From) is { } before && counter.ValueAt(window.Epoch, window.To) is { } now && now >= before)
            {
                of.Figures.Add("drain-valve-use", 0, Estimate.Exact(now - before));
            }
        }
        else if (of.Index.Own(0, "valve.drain") is { } valve)
        {
            if (of.Since is { } window && Readouts.Integral(valve, window, 3, of.Buffer) is not null)
            {
                var opened = 0;
                for (var i = 1; i < of.Buffer.Count; i++)
                {
                    opened += of.Buffer[i].Value > of.Buffer[i - 1].Value ? 1 : 0;
                }

                of.Figures.Add("drain-valve-use", 0, Estimate.Exact(opened));
            }
        }
        else if (of.IsWhole)
        {
            of.Figures.Add("drain-valve-use", 0, Estimate.Exact(of.Steps.Count(s => s.Step.Kind == StepKind.Drain)));
        }
    }
}
