using WashBridge.Core.Cycles;
using WashBridge.Core.Cycles.Segmenting;

namespace WashBridge.Core.Features.Extraction;

/// <summary>How long phases and steps took, and beyond what was set.</summary>
internal static class TimeFigures
{
    public static void Take(Extraction of)
    {
        foreach (var phase in of.Cycle.Phases)
        {
            if (IsWhole(phase, of))
            {
                of.Figures.Add($"phase-time/{phase.Id}", 0, Estimate.Duration(phase.Start, phase.End));
            }
        }

        var excesses = new List<Estimate>();
        var setpoints = new Dictionary<string, double?>();
        foreach (var step in of.Steps)
        {
            if (!step.IsWhole || !step.IsPassKnown || Estimate.Duration(step.Step.Start, step.Step.End) is not { } time)
            {
                continue;
            }

            var kind = Liquids.NameOf(step.Step.Kind);
            var place = $"{step.Phase.Id}/{step.Pass}/{kind}";
            of.Figures.Add("step-time/" + place, 0, time);
            if (SetTo($"{Facts.SetpointPrefix}{step.Phase.Id}.{kind}", of, setpoints) is { } set)
            {
                var excess = time with { Value = time.Value - set };
                excesses.Add(excess);
                of.Figures.Add("step-excess/" + place, 0, excess);
            }
        }

        of.Figures.Add("timing", 0, Estimate.Mean(excesses));
    }

    private static bool IsWhole(PhaseRecord phase, Extraction of) =>
        of.Steps.TrueForAll(s => s.Phase != phase || s.IsWhole)
        && !of.View.HasGap(phase.Start.Earliest, phase.End.Latest)
        && !of.View.HasPause(phase.Start.Earliest, phase.End.Latest);

    /// <summary>Seconds; null where the map has no such setpoint, its unit is none of time, or it was changed during the cycle.</summary>
    private static double? SetTo(string name, Extraction of, Dictionary<string, double?> known)
    {
        if (known.TryGetValue(name, out var set))
        {
            return set;
        }

        if (of.Cycle.Setpoints.TryGetValue(name, out var value)
            && of.Index.Own(0, name) is { } track
            && SecondsIn(track.Signal.Unit) is { } unit
            && Window.Between(of.Cycle.Start.Latest, of.Cycle.End.Latest) is { } cycle
            && !track.Leaves(value, cycle))
        {
            set = value * unit;
        }

        return known[name] = set;
    }

    private static double? SecondsIn(string unit) => unit switch
    {
        "s" => 1,
        "ms" => 0.001,
        "min" => 60,
        "h" => 3600,
        _ => null,
    };
}
