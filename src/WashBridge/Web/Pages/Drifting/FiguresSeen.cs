using WashBridge.Analysis.Indices;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Web.Trends;

namespace WashBridge.Web.Pages.Drifting;

/// <summary>Which figures a washer has: those of its last cycles, and what is made of them.</summary>
internal static class FiguresSeen
{
    private const int Cycles = 3;

    /// <summary>Keys, by name.</summary>
    public static IReadOnlyList<string> Of(IHistorianReader historian, WasherModel washer, Instant now)
    {
        var figures = LatestEvents.Read<CycleMeasured>(historian, washer.Washer, "cycle-measured", null, now, Cycles)
            .SelectMany(c => c.Features.Figures).Select(f => (f.Name, f.Station)).Distinct().ToList();
        var drains = Enumerable.Range(1, washer.Stations).Where(s => figures.Any(f => f.Station == s && Feature.FamilyOf(f.Name) == "drain-time")).Select(s => Feature.KeyOf(DrainIndex.Name, s));
        return [.. drains.Concat(figures.OrderBy(f => f.Name, StringComparer.Ordinal).ThenBy(f => f.Station).Select(f => Feature.KeyOf(f.Name, f.Station)))];
    }
}
