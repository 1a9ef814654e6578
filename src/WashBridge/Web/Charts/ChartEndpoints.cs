using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Historian;

namespace WashBridge.Web.Charts;

/// <summary>The data of charts, as JSON.</summary>
internal static class ChartEndpoints
{
    public const string Signals = "/charts/signals.json";

    public static void Map(IEndpointRouteBuilder routes) => routes.MapGet(Signals, (HttpRequest request, IHistorian historian, Site site, SignalCharts charts, TimeProvider time) =>
    {
        var query = request.Query;
        var period = Period.Parse(query["from"], query["until"], query["span"], "1h", site.Zone, time.GetUtcNow());
        if (period.Problem is { } problem)
        {
            return Results.Problem($"from, until or span: found '{problem}'; allowed: ISO 8601 with a zone, from before until, or one of {string.Join(", ", Period.Spans.Keys)}", statusCode: StatusCodes.Status400BadRequest);
        }

        var washer = query["washer"].ToString();
        var names = query["signal"].OfType<string>().Distinct().ToList();
        var found = names.Select(n => SignalNames.Find(historian, site, washer, n)).OfType<Signal>().ToList();
        if (names.Count is 0 or > SignalCharts.MostSignals || found.Count < names.Count)
        {
            return Results.Problem($"signal: found {names.Count}, of which {found.Count} are signals of washer '{washer}'; allowed: 1 to {SignalCharts.MostSignals} that it has", statusCode: StatusCodes.Status404NotFound);
        }

        return charts.Chart([.. found.Select(s => charts.Read(s, period.From, period.Until))], period.From, period.Until).Answer();
    });

    public static string Address(string washer, IEnumerable<Signal> signals, Period period) =>
        $"{Signals[1..]}?washer={Uri.EscapeDataString(washer)}{string.Concat(signals.Select(s => $"&signal={Uri.EscapeDataString(SignalNames.Of(s))}"))}&{period.Query}";
}
