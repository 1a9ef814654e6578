using WashBridge.Core.Cycles;
using WashBridge.Core.Cycles.Segmenting;
using WashBridge.Core.Time;

namespace WashBridge.Core.Features.Extraction;

/// <summary>How long drains took, and how the sensor behaved. Of a sensor that all stations share the figures are the washer's.</summary>
internal static class DrainFigures
{
    /// <summary>How long before the cycle the sensor is looked at.</summary>
    private const long BeforeMicroseconds = 5_000_000;

    public static void Take(Extraction of)
    {
        var isSharedTaken = false;
        foreach (var station in of.Occupied)
        {
            var shared = station.Drains.Count > 0 && station.Drains[0].Shared;
            if (station.Drains.Count == 0 || (shared && isSharedTaken))
            {
                continue;
            }

            isSharedTaken |= shared;
            Take(of, station.Drains, shared ? 0 : station.Station);
        }

        foreach (var (station, sensor) in of.Measured(DrainSensors.Name))
        {
            TakeWetBefore(of, station, sensor);
        }
    }

    /// <summary>When the drain certainly ended dry and was followed from its start on; what a gap or a pause touches is no drain time.</summary>
    public static bool IsFollowed(Extraction of, DrainRecord drain, Moment until) =>
        !of.View.HasGap(drain.Start.Earliest, until) && !of.View.HasPause(drain.Start.Earliest, until) && !of.View.IsUnseenStart(drain.Start);

    public static StepView? StepOf(Extraction of, DrainRecord drain) =>
        of.Steps.Find(s => s.Step.Kind == StepKind.Drain && s.Pass == drain.Pass && s.Phase.Id == drain.Phase && s.Step.Start == drain.Start);

    private static void Take(Extraction of, IReadOnlyList<DrainRecord> drains, int station)
    {
        var (unfinished, followed) = (0, 0);
        var bounces = new List<Estimate>();
        foreach (var drain in drains)
        {
            if (drain.Dry is { } dry)
            {
                if (IsFollowed(of, drain, dry.Latest))
                {
                    followed++;
                    of.Figures.Add($"drain-time/{drain.Phase}/{drain.Pass}", station, StepOf(of, drain) is { IsPassKnown: true } ? Estimate.Duration(drain.Start, dry) : null);
                }
            }
            else if (StepOf(of, drain) is { } step && IsFollowed(of, drain, step.Step.End.Latest))
            {
                followed++;
                unfinished++;
            }

            if (Changes(of, drain, station) is { } changes)
            {
                bounces.Add(changes);
            }
        }

        if (followed > 0)
        {
            of.Figures.Add("drain-unfinished", station, Estimate.Exact(unfinished));
        }

        of.Figures.Add("drain-bounce", station, Estimate.Mean(bounces));
    }

    /// <summary>Changes seen within the step, beyond the one from wet to dry that belongs to a drain. Polls miss the shortest: a count of what was seen, and exact as such.</summary>
    private static Estimate? Changes(Extraction of, DrainRecord drain, int station)
    {
        if (of.Index.Own(station, DrainSensors.Name) is not { } sensor || StepOf(of, drain) is not { IsWhole: true, Inner: { } window })
        {
            return null;
        }

        of.Buffer.Clear();
        sensor.Points(window, of.Buffer);
        if (of.Buffer.Count == 0)
        {
            return null;
        }

        var changes = of.Buffer[0].Value == 0 ? -1 : 0;
        for (var i = 1; i < of.Buffer.Count; i++)
        {
            changes += of.Buffer[i].Value != of.Buffer[i - 1].Value ? 1 : 0;
        }

        return Estimate.Exact(Math.Max(0, changes));
    }

    /// <summary>Before the first liquid of the cycle a keg has nothing to drain, and an empty place neither.</summary>
    private static void TakeWetBefore(Extraction of, int station, Track sensor)
    {
        if (of.View.BeganUnseen || of.Steps.Find(s => s.IsSpray) is not { Step.Seen: true } first)
        {
            return;
        }

        var start = of.Cycle.Start.Earliest;
        if (!start.IsKnown || Window.Between(start with { Steady = start.Steady - TimeSpan.FromMicroseconds(BeforeMicroseconds) }, first.Step.Start.Earliest) is not { } window)
        {
            return;
        }

        var from = of.Since is { } since && since.Epoch == window.Epoch ? Math.Max(window.From, since.From + 500_000) : window.From;
        if (window.NotBefore(from) is { } before && sensor.History(before, 3)?.OnTime() is { } dry)
        {
            of.Figures.Add("drain-wet-before", station, new Estimate(1 - (dry.Value / before.Seconds), dry.Uncertainty / before.Seconds));
        }
    }
}
