using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Features.Extraction;

/// <summary>One cycle while its figures are taken: what every family asks of it.</summary>
internal sealed class Extraction
{
    /// <summary>Nothing is counted from or to an end that can have been anywhere in more than twice this time, s.</summary>
    private const double WidestHalf = 2;

    public Extraction(CycleRecord cycle, IReadOnlyList<Frame> frames, Recipe recipe, TimeBounds? previousEnd, Func<Signal, double>? deadBand)
    {
        Cycle = cycle;
        Recipe = recipe;
        View = new CycleView(cycle, frames);
        Index = new FrameIndex(frames, cycle.Washer, View.Line, deadBand);
        Steps = StepView.Of(View, Index);
        Occupied = [.. cycle.Stations.Where(s => s.KegPresent != false)];
        if (previousEnd is { } before && View.Line.IsFastened)
        {
            var start = View.Line.Place(before);
            SinceHalf = (HalfOf(start), HalfOf(cycle.End));
            Since = Math.Max(SinceHalf.Start, SinceHalf.End) <= WidestHalf ? Window.BetweenMiddles(start, cycle.End) : null;
        }
    }

    public CycleRecord Cycle { get; }

    public Recipe Recipe { get; }

    public CycleView View { get; }

    public FrameIndex Index { get; }

    public List<StepView> Steps { get; }

    /// <summary>Stations with a keg, or of which nobody knows.</summary>
    public List<StationRecord> Occupied { get; }

    /// <summary>From the end of the cycle before to the end of this one; null where that is not known.</summary>
    public Window? Since { get; }

    /// <summary>Half of the width of either end of <see cref="Since"/>, s.</summary>
    public (double Start, double End) SinceHalf { get; }

    public Figures Figures { get; } = new();

    /// <summary>For the readings of the moment.</summary>
    public List<Point> Buffer { get; } = [];

    /// <summary>The programme ran from its first to its last step, and every step was followed.</summary>
    public bool IsWhole => Cycle.Outcome == CycleOutcome.Completed && View.IsWhole && Steps.TrueForAll(s => s.IsWhole);

    /// <summary>
    /// Empty where every station takes its share; else how many do, as <c>/1-kegs</c>: with fewer nozzles open pressures and flows are others, and must
    /// not be compared with those of a full load.
    /// </summary>
    public string Load => Occupied.Count == Cycle.Stations.Count ? "" : $"/{Occupied.Count}-kegs";

    public Estimate? Mean(Track? track, IEnumerable<Window> windows) => Readouts.Mean(track, windows, Buffer);

    /// <summary>The inner stretches of some steps; nothing where one of them is not known, because the others do not stand for it.</summary>
    public IEnumerable<Window> All(Func<StepView, bool> which)
    {
        if (Steps.Exists(s => (s.Inner is null || s.CanHide) && which(s)))
        {
            yield break;
        }

        foreach (var step in Steps)
        {
            if (step.Inner is { } window && which(step))
            {
                yield return window;
            }
        }
    }

    /// <summary>The same of a cycle that was watched from its start to its end.</summary>
    public IEnumerable<Window> AllOfWhole(Func<StepView, bool> which) => View.IsWhole ? All(which) : [];

    /// <summary>Stretches without some time at either end, in which things settle.</summary>
    public static IEnumerable<Window> Settled(IEnumerable<Window> windows)
    {
        foreach (var window in windows)
        {
            if (window.Without(1_500_000, 200_000) is { } settled)
            {
                yield return settled;
            }
        }
    }

    private static double HalfOf(Edge edge) => (edge.Latest.Steady - edge.Earliest.Steady).TotalSeconds / 2;

    /// <summary>Where a signal of either scope is measured: by the washer's own (station 0), or at each occupied station that has one.</summary>
    public IEnumerable<(int Station, Track Track)> Measured(string name)
    {
        if (Index.Own(0, name) is { } shared)
        {
            yield return (0, shared);
        }

        foreach (var station in Occupied)
        {
            if (Index.Own(station.Station, name) is { } own)
            {
                yield return (station.Station, own);
            }
        }
    }
}

/// <summary>What liquid a phase uses, in the words of the signal catalogue.</summary>
internal static class Liquids
{
    public const string Water = "water";

    public static IReadOnlyList<(string Name, PhaseKind Kind)> Baths { get; } =
        [("caustic", PhaseKind.CausticWash), ("acid", PhaseKind.AcidWash), ("sanitiser", PhaseKind.Sanitise)];

    /// <summary>Null: gas or steam only.</summary>
    public static string? Of(PhaseKind kind) => kind switch
    {
        PhaseKind.Rinse => Water,
        PhaseKind.CausticWash => "caustic",
        PhaseKind.AcidWash => "acid",
        PhaseKind.Sanitise => "sanitiser",
        _ => null,
    };

    public static string NameOf(StepKind step) => step switch
    {
        StepKind.WallSpray => "wall-spray",
        StepKind.SpearRinse => "spear-rinse",
        StepKind.Hold => "hold",
        StepKind.Drain => "drain",
        StepKind.Pressurise => "pressurise",
        _ => "vent",
    };

    public static bool IsGasFill(StepView step) => step.Step.Kind == StepKind.Pressurise && step.Phase.Kind is PhaseKind.Evacuate or PhaseKind.Purge;
}
