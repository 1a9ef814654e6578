using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Upkeep;
using WashBridge.Reporting;

namespace WashBridge.Web.Trends;

/// <summary>The index of a part's health for people: what is measured, how it stands, and where its limit lies.</summary>
internal static class IndexWords
{
    public static string Of(Forecast forecast)
    {
        var name = forecast.Index.Split('@', '/')[0];
        var title = HealthIndex.All.FirstOrDefault(i => i.Name == name)?.Title ?? forecast.Index;
        return forecast.Now is { } now
            ? $"{title}: {With(now, forecast)}{(forecast.Limit is { } limit ? $", limit {With(limit, forecast)} ({forecast.LimitSource})" : "")}"
            : title;
    }

    private static string With(double value, Forecast forecast) => AnalysisWords.Number(value) + AnalysisWords.Unit(Units.Of(forecast.Unit));
}
