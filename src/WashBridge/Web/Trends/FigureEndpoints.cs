using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Web.Pages.Bathing;
using WashBridge.Web.Pages.Drifting;
using WashBridge.Web.Pages.Upkeeping;

namespace WashBridge.Web.Trends;

/// <summary>The data of the pictures of figures, for <c>charts.js</c>.</summary>
internal static class FigureEndpoints
{
    public const int StandardCycles = 300;
    public const int MostCycles = 1000;

    private const int MostSample = 1_000_000;
    private const string Figures = "trends/figure/";
    private const string Baths = "trends/bath/";
    private const string Indices = "trends/index/";

    public static string Address(string washer, string figure, int cycles) => $"{Figures}{Uri.EscapeDataString(washer)}/{DriftAddress.Path(figure)}?cycles={cycles}";

    public static string IndexAddress(string washer, string component) => $"{Indices}{Uri.EscapeDataString(washer)}/{DriftAddress.Path(component)}";

    public static string BathAddress(string washer, string bath, int cycles) => $"{Baths}{Uri.EscapeDataString(washer)}/{Uri.EscapeDataString(bath)}?cycles={cycles}";

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet("/" + Figures + "{washer}/{**figure}", Figure);
        routes.MapGet("/" + Baths + "{washer}/{bath}", Bath);
        routes.MapGet("/trends/plan", Plan);
        routes.MapGet("/" + Indices + "{washer}/{**component}", Index);
    }

    private static IResult Figure(string washer, string figure, int? cycles, Site site, IHistorian historian, FindingsBoard board, FigureChart chart, TimeProvider time)
    {
        if (site.Find(washer) is not { } found)
        {
            return Results.NotFound();
        }

        var findings = board.Findings;
        var course = FigureCourse.Read(historian, (washer, found.Model.Stations), figure, Instant.Ceiling(time.GetUtcNow()), Math.Clamp(cycles ?? StandardCycles, 1, MostCycles));
        var drifts = findings.Drifts.Where(d => d.Found.Washer == washer && d.Finding.Feature == figure).ToList();
        return chart.Draw(course, drifts, FigureLimits.Of(figure, found.Recipe, DriftList.Parts(findings, washer, figure))).Answer();
    }

    private static IResult Index(string washer, string component, FindingsBoard board, IndexChart chart) =>
        board.Findings.ForecastOf(washer, component) is { } line ? chart.Draw(line).Answer() : Results.NotFound();

    private static IResult Bath(string washer, string bath, int? cycles, Site site, IHistorian historian, FindingsBoard board, BathChart chart, TimeProvider time) =>
        site.Find(washer) is { } found && WasherParts.HasBath(found, bath)
            ? chart.Draw(BathView.Read(historian, found, bath, board.Findings, Instant.Ceiling(time.GetUtcNow()), Math.Clamp(cycles ?? StandardCycles, 1, MostCycles))).Answer()
            : Results.NotFound();

    private static IResult Plan(int size, int accepted, double rate, PlanChart chart) =>
        size is > 0 and <= MostSample && accepted >= 0 && accepted < size && rate is > 0 and < 1
            ? chart.Draw(size, accepted, rate).Answer()
            : Results.BadRequest($"found size={size}, accepted={accepted}, rate={rate}; allowed: size 1 to {MostSample}, accepted 0 to size - 1, rate above 0 and below 1");
}
