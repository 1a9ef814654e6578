using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;
using WashBridge.Reporting;
using WashBridge.Web.Trends;

namespace WashBridge.Web.Pages.Bathing;

/// <summary>How long a bath was used so far at this site.</summary>
/// <param name="Cycles">Median of the cycles between two changes; null: not known.</param>
/// <param name="Days">Median of the days between two changes; null: fewer than two changes.</param>
/// <param name="Changes">Changes on record.</param>
internal sealed record BathHabit(double? Cycles, double? Days, int Changes)
{
    /// <param name="changes">When, in order.</param>
    /// <param name="scores">Forecasts of the bath that changes put to the test: they know the cycles that were run.</param>
    public static BathHabit Of(IReadOnlyList<Instant> changes, IEnumerable<ForecastScored> scores)
    {
        var cycles = scores.Select(s => (double)(s.Score.Forecast.Cycles + s.Score.CyclesRun)).Order().ToList();
        var days = changes.Zip(changes.Skip(1), (a, b) => (b - a).TotalDays).Order().ToList();
        return new BathHabit(Median(cycles), Median(days), changes.Count);
    }

    private static double? Median(List<double> values) =>
        values.Count == 0 ? null : values.Count % 2 == 1 ? values[values.Count / 2] : (values[(values.Count / 2) - 1] + values[values.Count / 2]) / 2;
}

/// <summary>All that is known of one bath.</summary>
internal sealed record BathView
{
    public const int MostCycles = 1000;

    public required FigureCourse Strength { get; init; }

    public required FigureCourse Temperature { get; init; }

    public required FigureCourse Level { get; init; }

    public required TitrationComparison Titrations { get; init; }

    /// <summary>When it was made up anew, under whichever name it was recorded, in order.</summary>
    public required IReadOnlyList<Instant> Changes { get; init; }

    public required BathHabit Habit { get; init; }

    /// <summary>Null: none was made yet.</summary>
    public required ForecastLine? Forecast { get; init; }

    /// <summary>What the recipe asks of the conductivity, and at which one the index counts as failed.</summary>
    public required IReadOnlyList<FigureLimit> Limits { get; init; }

    /// <param name="most">Cycles to look at, the latest.</param>
    public static BathView Read(IHistorianReader historian, WasherConfiguration washer, string bath, Findings findings, Instant until, int most)
    {
        var id = washer.Model.Washer;
        var cycles = LatestEvents.Read<CycleMeasured>(historian, id, "cycle-measured", null, until, most);
        var changes = historian.ReadEvents(new EventQuery { Washer = id, Kinds = ["maintenance-recorded", "bath-changed"] })
            .Select(e => e is BathChanged changed ? changed.AsMaintenance() : e as MaintenanceRecorded)
            .OfType<MaintenanceRecorded>().Where(m => m.Component == new Component(ComponentKind.Bath, bath)).OrderBy(m => m.At.Latest).ToList();
        var titrations = CorrectedRecords.Read<TitrationRecorded>(historian, "titration-recorded", id).Where(t => t.Holds.Bath == bath).ToList();
        FigureCourse Course(string figure) => FigureCourse.Of(figure, new FigureReader(figure, washer.Model.Stations), cycles, changes);
        var (strength, temperature) = (Course($"strength/{bath}"), Course($"temperature-mean/{bath}"));
        var renewed = changes.Where(c => c.Work == MaintenanceKind.Replaced).Select(c => c.At.Latest).ToList();
        var forecast = findings.ForecastOf(id, $"bath/{bath}");
        return new BathView
        {
            Strength = strength,
            Temperature = temperature,
            Level = Course($"level/{bath}"),
            Titrations = TitrationComparison.Of(titrations, strength.Points),
            Changes = renewed,
            Habit = BathHabit.Of(renewed, findings.Scores.Where(s => s.Washer == id && s.Score.Forecast.Component.Key == $"bath/{bath}")),
            Forecast = forecast,
            Limits = [.. FigureLimits.Of($"strength/{bath}", washer.Recipe, []), .. OfIndex(forecast, strength)],
        };
    }

    /// <summary>The index is a ratio to the reference: in mS/cm it is what the bath has now, by the same ratio.</summary>
    private static IEnumerable<FigureLimit> OfIndex(ForecastLine? forecast, FigureCourse strength)
    {
        if (strength.Points.Count > 0 && forecast?.Forecast is { Now: > 0 and var now, Limit: { } limit, LimitSource: var source } made && made.Index.StartsWith("bath-strength", StringComparison.Ordinal))
        {
            yield return new FigureLimit(FigureChart.Middle([.. strength.Points.Select(p => p.Value)])[^1] / now * limit, LimitOrigin.Part, source);
        }
    }
}
