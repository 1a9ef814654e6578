using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;
using WashBridge.Web.Trends;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Web.Trends;

public sealed class FigureCourseTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly HistorianFile _historian;

    public FigureCourseTests() => _historian = HistorianFile.Open(_folder["a.washdb"], new HistorianOptions(), TimeProvider.System);

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void A_figure_is_read_cycle_by_cycle_and_where_a_cycle_lacks_it_there_is_no_point()
    {
        _historian.AppendEvents([.. Enumerable.Range(1, 10).Select(n => n == 4 ? Washing.Cycle(n) : Washing.Cycle(n, figures: [new Feature("strength/caustic", 0, 50 + n, 0.1), new Feature("strength/caustic", 1, 7, 0)]))]);
        var course = Read("strength/caustic");
        Assert.Equal([51, 52, 53, 55, 56, 57, 58, 59, 60], course.Points.Select(p => p.Value));
        Assert.Equal("north-c1", course.Points[0].Cycle);
        Assert.Equal("mS/cm", course.Unit);
        Assert.False(course.IsCut);
    }

    [Fact]
    public void Of_many_cycles_the_latest_are_read_and_it_is_said_that_there_are_more()
    {
        _historian.AppendEvents([.. Enumerable.Range(1, 400).Select(n => Washing.Cycle(n, figures: [new Feature("level/acid", 0, n, 0)]))]);
        var course = Read("level/acid", most: 250);
        Assert.Equal(250, course.Points.Count);
        Assert.Equal(151, course.Points[0].Value);
        Assert.Equal(400, course.Points[^1].Value);
        Assert.True(course.IsCut);
    }

    [Fact]
    public void A_stations_difference_is_from_the_median_of_the_others()
    {
        _historian.AppendEvents([Washing.Cycle(1, figures: [new("purge-high", 1, 3.0, 0.1), new("purge-high", 2, 3.5, 0.1), new("purge-high", 3, 3.2, 0.1), new("purge-high", 4, 9, 0.1)])]);
        Assert.Equal(-0.5, Read("peers/purge-high@1").Points.Single().Value, 9);
    }

    [Fact]
    public void A_drain_index_is_read_against_the_cycles_of_its_reference_however_long_ago_they_ran()
    {
        _historian.AppendEvents([.. Enumerable.Range(1, 400).Select(n => Drain(n, n <= 200 ? 10 : 15))]);
        var course = Read("drain-index@2", most: 100);
        Assert.Equal(100, course.Points.Count);
        Assert.All(course.Points, p => Assert.InRange(p.Value, 1.45, 1.55));
    }

    [Fact]
    public void Work_on_the_valve_begins_its_reference_anew_and_is_a_mark()
    {
        _historian.AppendEvents([.. Enumerable.Range(1, 400).Select(n => Drain(n, n <= 200 ? 10 : 15))]);
        _historian.AppendEvents([Washing.Work(220, Washing.Valve2), Washing.Work(230, new Component(ComponentKind.DrainValve, "", 1)), Washing.Work(240, new Component(ComponentKind.SprayPump))]);
        var course = Read("drain-index@2");
        Assert.Equal(Washing.At(220), Assert.Single(course.Marks).At);
        Assert.All(course.Points.Where(p => p.At > Washing.At(280)), p => Assert.InRange(p.Value, 0.95, 1.05));
        Assert.Contains(course.Points, p => p.At > Washing.At(201) && p.At < Washing.At(220) && p.Value > 1.4);
    }

    [Fact]
    public void Another_recipe_is_a_mark()
    {
        _historian.AppendEvents([.. Enumerable.Range(1, 6).Select(n => Washing.Cycle(n, n < 4 ? "full-wash" : "short-wash", new Feature("level/acid", 0, n, 0)))]);
        Assert.Equal("short-wash 1", Assert.Single(Read("level/acid").Marks).Recipe);
    }

    [Fact]
    public void The_line_is_the_median_of_neighbours_so_that_one_far_cycle_does_not_bend_it()
    {
        var middle = FigureChart.Middle([1, 1, 1, 1, 99, 1, 1, 1, 1, 1, 1]);
        Assert.All(middle, v => Assert.Equal(1, v));
        Assert.Equal([3, 3.5, 4], FigureChart.Middle([1, 2, 3, 4, 5, 6]).Take(2).Append(FigureChart.Middle([1, 2, 3, 4, 5, 6])[^1]));
    }

    private static CycleMeasured Drain(int number, double seconds) =>
        Washing.Cycle(number, figures: [new("drain-time/rinse/1", 2, seconds + (number % 5 * 0.02), 0.05), new("liquid/rinse/1", 2, 8 + (number % 3 * 0.1), 0.05)]);

    private FigureCourse Read(string figure, int most = 1000) => FigureCourse.Read(_historian, ("north", 4), figure, Washing.At(500), most);
}
