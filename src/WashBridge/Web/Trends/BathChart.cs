using Microsoft.Extensions.Localization;
using WashBridge.Core.Time;
using WashBridge.Reporting;
using WashBridge.Web.Charts;
using WashBridge.Web.Pages.Bathing;

namespace WashBridge.Web.Trends;

/// <summary>A bath over time: conductivity with its limits, and beside it what titrations let expect; titrations in their own unit; temperature and level; changes upright.</summary>
internal sealed class BathChart(IStringLocalizer<BathChart> texts, FigureChart figures)
{
    public ChartData Draw(BathView bath)
    {
        var all = bath.Strength.Points.Concat(bath.Temperature.Points).Concat(bath.Level.Points).Select(p => Place(p.At))
            .Concat(bath.Titrations.Lines.Select(t => Place(t.Titration.Holds.At.Latest))).ToList();
        var (from, until) = all.Count > 0 ? (all.Min(), all.Max()) : (0, 1);
        until = until > from ? until : from + 1000;
        var series = new List<ChartSeries>();
        Add(series, texts["strength"], bath.Strength);
        AddTitrations(series, bath.Titrations);
        Add(series, texts["temperature"], bath.Temperature);
        Add(series, texts["level"], bath.Level);
        var unit = Units.Of(bath.Strength.Unit);
        var limits = bath.Limits.Select(l => new ChartLimit(texts["limit." + l.Origin, (AnalysisWords.Number(l.Value) + " " + unit).TrimEnd(), l.Source], unit, l.Value)).ToList();
        var marks = bath.Strength.Marks.Concat(bath.Temperature.Marks).DistinctBy(m => (m.At, m.Recipe));
        limits.AddRange(marks.Where(m => Place(m.At) >= from && Place(m.At) <= until).Select(m => new ChartLimit(m.Work is null ? figures.Label(m) : texts["changed." + m.Work.Work], unit, At: Place(m.At))));
        return new ChartData { From = from, Until = until, Series = series, Limits = limits };
    }

    private static void Add(List<ChartSeries> series, string name, FigureCourse course)
    {
        if (course.Points.Count > 0)
        {
            series.Add(new ChartSeries { Name = name, Unit = Units.Of(course.Unit), At = [.. course.Points.Select(p => Place(p.At))], Value = [.. course.Points.Select(p => (double?)p.Value)], Form = "line" });
        }
    }

    private void AddTitrations(List<ChartSeries> series, TitrationComparison titrations)
    {
        foreach (var unit in titrations.Lines.GroupBy(l => l.Titration.Holds.Unit))
        {
            var lines = unit.Reverse().ToList();
            var at = lines.Select(l => Place(l.Titration.Holds.At.Latest)).ToList();
            if (titrations.PerStrength.TryGetValue(unit.Key, out var per))
            {
                series.Add(new ChartSeries { Name = texts["expected", unit.Key], Unit = "mS/cm", At = at, Value = [.. lines.Select(l => (double?)(l.Titration.Holds.Strength * per))], Form = "points" });
            }

            series.Add(new ChartSeries { Name = texts["titration", unit.Key], Unit = unit.Key, Panel = "titration " + unit.Key, At = at, Value = [.. lines.Select(l => (double?)l.Titration.Holds.Strength)], Form = "points" });
        }
    }

    private static double Place(Instant at) => ChartData.Milliseconds(at);
}
