using WashBridge.Analysis.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;

namespace WashBridge.Web.Trends;

/// <summary>A figure in one cycle.</summary>
/// <param name="Cycle">Its id.</param>
/// <param name="At">Its end.</param>
/// <param name="Value">In the figure's unit.</param>
/// <param name="Uncertainty">Standard uncertainty as a measurement; 0: exact.</param>
internal sealed record FigurePoint(string Cycle, Instant At, double Value, double Uncertainty);

/// <summary>Something that can change a figure.</summary>
/// <param name="At">When.</param>
/// <param name="Work">What a person did; null: the recipe changed.</param>
/// <param name="Recipe">The recipe and version from then on; null: it is work.</param>
internal sealed record CourseMark(Instant At, MaintenanceRecorded? Work, string? Recipe);

/// <summary>A figure cycle by cycle, with what can have changed it.</summary>
/// <param name="Figure">Its key.</param>
/// <param name="Unit">UCUM; empty for counts and ratios.</param>
/// <param name="Points">In order.</param>
/// <param name="Marks">In order.</param>
/// <param name="IsCut">There are cycles before the first.</param>
internal sealed record FigureCourse(string Figure, string Unit, IReadOnlyList<FigurePoint> Points, IReadOnlyList<CourseMark> Marks, bool IsCut)
{
    /// <summary>Work on these begins a drain's reference anew.</summary>
    private static readonly ComponentKind[] DrainParts = [ComponentKind.DrainValve, ComponentKind.DrainSensor];

    /// <summary>Cycles that teach a drain index are looked for among so many after its reference began.</summary>
    private const int MostLessons = 400;

    /// <param name="historian">Whose cycles.</param>
    /// <param name="washer">Of which washer, with how many stations.</param>
    /// <param name="figure">Key of a figure, of a drain index, or of a difference from peers.</param>
    /// <param name="until">Cycles that began before this.</param>
    /// <param name="most">So many cycles, the latest.</param>
    public static FigureCourse Read(IHistorianReader historian, (string Id, int Stations) washer, string figure, Instant until, int most)
    {
        var cycles = LatestEvents.Read<CycleMeasured>(historian, washer.Id, "cycle-measured", null, until, most + 1);
        var isCut = cycles.Count > most;
        var work = historian.ReadEvents(new EventQuery { Washer = washer.Id, Kinds = ["maintenance-recorded"], Until = until }).OfType<MaintenanceRecorded>().ToList();
        var reader = new FigureReader(figure, washer.Stations);
        if (isCut && reader.IsLearning)
        {
            Teach(historian, washer.Id, figure, reader, work, cycles[0].At.Latest + TimeSpan.FromMicroseconds(1));
        }

        return Of(figure, reader, [.. cycles.Skip(isCut ? 1 : 0)], work) with { IsCut = isCut };
    }

    /// <param name="reader">That has learnt from the cycles before, if there are any.</param>
    /// <param name="cycles">In order.</param>
    /// <param name="work">All work on the washer, in order.</param>
    public static FigureCourse Of(string figure, FigureReader reader, IReadOnlyList<CycleMeasured> cycles, IReadOnlyList<MaintenanceRecorded> work)
    {
        var (points, marks, recipe) = (new List<FigurePoint>(), new List<CourseMark>(), (string?)null);
        var from = cycles.Count > 0 ? cycles[0].Features.Started : new Instant(long.MaxValue);
        var coming = new Queue<MaintenanceRecorded>(work.Where(w => w.At.Latest >= from && Concerns(w, figure)).OrderBy(w => w.At.Latest));
        marks.AddRange(coming.Select(w => new CourseMark(w.At.Latest, w, null)));
        foreach (var cycle in cycles)
        {
            var features = cycle.Features;
            while (coming.TryPeek(out var next) && next.At.Latest <= features.Ended)
            {
                Restart(reader, coming.Dequeue());
            }

            var now = $"{features.Recipe} {features.RecipeVersion}";
            if (recipe is not null && recipe != now)
            {
                marks.Add(new CourseMark(features.Started, null, now));
            }

            recipe = now;
            if (reader.Read(features) is { } value)
            {
                points.Add(new FigurePoint(cycle.CycleId ?? cycle.Id, features.Ended, value.Value, value.Uncertainty));
            }
        }

        return new FigureCourse(figure, FeatureCatalogue.Find(figure)?.Unit ?? "", points, [.. marks.OrderBy(m => m.At)], false);
    }

    /// <summary>A drain index compares with the first cycles after the last work on valve or sensor: those are read, however long ago they ran.</summary>
    private static void Teach(IHistorianReader historian, string washer, string figure, FigureReader reader, List<MaintenanceRecorded> work, Instant until)
    {
        var began = work.LastOrDefault(w => w.At.Latest < until && BeginsDrainsAnew(w) && Concerns(w, figure))?.At.Latest;
        foreach (var cycle in historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["cycle-measured"], From = began, Until = until, AtMost = MostLessons }).OfType<CycleMeasured>())
        {
            if (!reader.IsLearning)
            {
                return;
            }

            reader.Read(cycle.Features);
        }
    }

    private static void Restart(FigureReader reader, MaintenanceRecorded work)
    {
        if (BeginsDrainsAnew(work))
        {
            reader.Restart(work.Component.Station);
        }
    }

    private static bool BeginsDrainsAnew(MaintenanceRecorded work) => work.Work != MaintenanceKind.Inspected && DrainParts.Contains(work.Component.Kind);

    /// <summary>A station's difference from its peers changes with each of them.</summary>
    private static bool Concerns(MaintenanceRecorded work, string figure) =>
        FeatureOwner.Owns(figure.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal) ? work.Component with { Station = 0 } : work.Component, figure);
}
