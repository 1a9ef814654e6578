using WashBridge.Analysis.Alarms;
using WashBridge.Configuration;
using WashBridge.Core.Alarms;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;
using WashBridge.Reporting;
using WashBridge.Web.Trends;

namespace WashBridge.Web.Pages.Drifting;

/// <summary>A drift that stands, with what tells the same and what it may mean.</summary>
/// <param name="Main">The clearest.</param>
/// <param name="Also">Further figures of the same kind and place.</param>
/// <param name="Text">For people: what it means and what to look at first.</param>
/// <param name="Parts">The parts that the figure tells of, those that come first foremost.</param>
public sealed record DriftCard(DriftLine Main, IReadOnlyList<DriftLine> Also, AlarmText Text, IReadOnlyList<ForecastLine> Parts)
{
    public bool? IsBad => FigureSide.IsBad(Main.Finding);
}

/// <summary>Drifts as a technician asks for them: what goes wrong now first, the worst foremost.</summary>
internal sealed record DriftList(IReadOnlyList<DriftCard> Standing, IReadOnlyList<DriftLine> Ended, IReadOnlyList<DeviationLine> Off, IReadOnlyList<DeviationLine> Back)
{
    /// <param name="washer">Of this one only; null: of all.</param>
    public static DriftList Of(Findings findings, Site site, string? washer)
    {
        var drifts = findings.Drifts.Where(d => washer is null || d.Found.Washer == washer).ToList();
        var deviations = findings.Deviations.Where(d => washer is null || d.Washer == washer).ToList();
        return new DriftList(
            [.. drifts.Where(d => d.Ended is null).GroupBy(d => Group(d, site)).Select(g => Card([.. g], findings)).OrderByDescending(Urgency).ThenByDescending(c => Clearness(c.Main))],
            [.. drifts.Where(d => d.Ended is not null).OrderByDescending(d => d.Ended!.At.Latest)],
            [.. deviations.Where(d => d.Conformed is null).OrderByDescending(d => d.Since)],
            [.. deviations.Where(d => d.Conformed is not null).OrderByDescending(d => d.Conformed)]);
    }

    public static IReadOnlyList<ForecastLine> Parts(Findings findings, string washer, string figure)
    {
        var isOfPeers = figure.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal);
        return [.. findings.Forecasts.Where(l => l.Made.Washer == washer && FeatureOwner.Owns(isOfPeers ? l.Forecast.Component with { Station = 0 } : l.Forecast.Component, figure)).Take(4)];
    }

    /// <summary>The same kind of figure at the same place. Of two stations the difference tells of both, so that it goes with either.</summary>
    private static (string, string, int) Group(DriftLine drift, Site site)
    {
        var figure = drift.Finding.Feature;
        var own = figure.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal) ? figure[Feature.PeersPrefix.Length..] : figure;
        var hasTwo = site.Washers.Any(w => w.Model.Washer == drift.Found.Washer && w.Model.Stations == 2);
        return (drift.Found.Washer, Feature.FamilyOf(own.Split('@')[0]), hasTwo ? 0 : FigureSide.Station(figure));
    }

    private static DriftCard Card(List<DriftLine> same, Findings findings)
    {
        var main = same.OrderBy(d => d.Finding.Feature.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal)).ThenByDescending(d => FigureSide.IsBad(d.Finding) == true).ThenByDescending(Clearness).First();
        return new DriftCard(main, [.. same.Where(d => d != main)], AlarmTexts.Drift(main.Found.Washer, main.Finding), Parts(findings, main.Found.Washer, main.Finding.Feature));
    }

    /// <summary>What leads to a stop comes first, then what is on the bad side.</summary>
    private static int Urgency(DriftCard card) => (card.Parts.Any(p => p.Forecast.State >= ForecastState.Approaching) ? 2 : 0) + (card.IsBad == true ? 1 : 0);

    private static double Clearness(DriftLine drift) => Math.Abs(drift.Finding.Size) / Math.Max(drift.Finding.Spread, 1e-9);
}
