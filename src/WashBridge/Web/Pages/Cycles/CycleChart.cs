using Microsoft.Extensions.Localization;
using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Web.Charts;

namespace WashBridge.Web.Pages.Cycles;

/// <summary>The signals of a cycle with its phases behind them and the recipe's values across.</summary>
internal static class CycleChart
{
    public const string Path = "/charts/cycle.json";

    public static string Address(string id) => $"{Path[1..]}?id={Uri.EscapeDataString(id)}";

    public static void Map(IEndpointRouteBuilder routes) => routes.MapGet(Path, (string? id, string? from, string? until, IHistorian historian, Site site, SignalCharts charts, TimeProvider time, IStringLocalizer<CycleChartTexts> texts) =>
    {
        if (CycleCard.Find(historian, site, id ?? "") is not { } card)
        {
            return Results.Problem("id: found no cycle that has ended with this id", statusCode: StatusCodes.Status404NotFound);
        }

        var (start, end) = (card.From, card.Until);
        if (from is not null && until is not null && Period.Parse(from, until, null, "1h", site.Zone, time.GetUtcNow()) is { Problem: null } nearer)
        {
            (start, end) = (nearer.From, nearer.Until);
        }

        var signals = card.SignalsOf(SignalNames.Drawable(historian, site, card.Cycle.Washer));
        IReadOnlyList<SignalPicture> pictures = [.. signals.Select(s => charts.Read(s, start, end))];
        return (charts.Chart(pictures, start, end, card.Spans()) with { Limits = card.Limits(signals, (key, values) => texts[key, values]) }).Answer();
    });
}

/// <summary>Names the texts of <see cref="CycleChart"/>.</summary>
internal sealed class CycleChartTexts;
