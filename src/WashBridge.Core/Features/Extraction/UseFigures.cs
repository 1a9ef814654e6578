using WashBridge.Core.Cycles;

namespace WashBridge.Core.Features.Extraction;

/// <summary>How many kegs there were, and how often the drain valve moved.</summary>
internal static class UseFigures
{
    /// <summary>A count read this long before or after a moment still tells of it, µs.</summary>
    private const long Fresh = 10_000_000;

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
            if (of.View.IsWhole && of.Since is { } window && Started(of, counter, window) is { } before && Ended(of, counter, window) is { } now && now >= before)
            {
                of.Figures.Add("drain-valve-use", 0, Estimate.Exact(now - before));
            }
        }
        else if (of.Index.Own(0, "valve.drain") is { } valve)
        {
            if (of.Since is { } window && valve.History(window, 3) is { } history)
            {
                of.Figures.Add("drain-valve-use", 0, Estimate.Exact(history.Risen));
            }
        }
        else if (of.IsWhole)
        {
            of.Figures.Add("drain-valve-use", 0, Estimate.Exact(of.Steps.Count(s => s.Step.Kind == StepKind.Drain)));
        }
    }

    /// <summary>The count with which the window began; null unless it stood still from one reading to the next about that moment.</summary>
    private static double? Started(Extraction of, Track counter, Window window)
    {
        var half = (long)(of.SinceHalf.Start * 1e6) + 1;
        of.Buffer.Clear();
        counter.Points(new Window(window.Epoch, window.From - Fresh, window.From + Fresh), of.Buffer);
        var before = of.Buffer.FindLastIndex(p => p.At.Latest <= window.From - half);
        var after = of.Buffer.FindIndex(p => p.At.Earliest >= window.From + half);
        return before >= 0 && after >= 0 && of.Buffer[before].Value == of.Buffer[after].Value ? of.Buffer[after].Value : null;
    }

    /// <summary>The last count of the cycle; null unless it was read after the last drain began.</summary>
    private static double? Ended(Extraction of, Track counter, Window window)
    {
        var drain = of.Steps.FindLast(s => s.Step.Kind == StepKind.Drain);
        of.Buffer.Clear();
        counter.Points(window with { From = Math.Max(window.From, window.To - Fresh) }, of.Buffer);
        if (of.Buffer.Count == 0 || (drain is not null && of.Buffer[^1].At.Earliest < Stamp.Of(drain.Step.Start).Latest))
        {
            return null;
        }

        return of.Buffer[^1].Value;
    }
}
