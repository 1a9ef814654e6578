using System.Globalization;
using WashBridge.Analysing;
using WashBridge.Analysis.Peers;
using WashBridge.Core.Features;

namespace WashBridge.Reporting;

/// <summary>How the comparison with peers is said to people, the same in every output.</summary>
internal static class PeerWords
{
    public static readonly string Note = string.Create(CultureInfo.InvariantCulture,
        $"Compared are the last {PeerCycles.Most} cycles of the period at most: washers with as many stations, and the stations of a washer, each with the same recipe where the figure depends on it. One stands out where chance would make any of its peers differ so much in one comparison of {1 / PeerComparison.Rare:0}; u is the standard uncertainty of the difference. It may be a fault, another sensor, or how the washer was always built: the charts of drifts tell whether it has changed.");

    public static string Who(PeerStanding standing) => standing.Station == 0 ? standing.Washer : $"{standing.Washer} station {standing.Station}";

    public static string Title(PeerLine line)
    {
        var family = FeatureCatalogue.Find(line.Clearest.Feature);
        return $"{family?.Title} ({line.Clearest.Feature}{(line.Others == 0 ? "" : $" and {line.Others} more")})";
    }

    public static string Difference(PeerStanding standing) =>
        $"{(standing.Difference >= 0 ? "+" : "")}{AnalysisWords.Number(standing.Difference)}{AnalysisWords.Unit(standing.Unit)} (u = {AnalysisWords.Number(standing.Uncertainty)})";

    public static string Stands(PeerStanding standing) =>
        $"{AnalysisWords.Number(standing.Median)}{AnalysisWords.Unit(standing.Unit)}, {Peers(standing)} {AnalysisWords.Number(standing.PeersMedian)}{AnalysisWords.Unit(standing.Unit)}";

    public static string State(PeerStanding standing) => (standing.State, PeerLine.IsWorse(standing)) switch
    {
        (PeerState.StandsOut, true) => "stands out, on the bad side",
        (PeerState.StandsOut, false) => "stands out, on the good side",
        (PeerState.StandsOut, _) => "stands out",
        _ => $"differs; too few peers ({standing.Peers - 1}) to say whether that is unusual",
    };

    /// <summary>What was compared, what could not be judged, and how to read what is told.</summary>
    public static IEnumerable<string> Summary(PeerReport report)
    {
        if (report.Standings.Count == 0)
        {
            yield return $"Nothing can be compared with peers yet: it takes {PeerComparison.LeastCycles} cycles of each with the same recipe, or washers with as many stations.";
        }

        if (report.Judged > 0)
        {
            var found = report.StandOut.Count > 0 ? "" : " Nobody stands out.";
            yield return string.Create(CultureInfo.InvariantCulture, $"{Comparisons(report.Judged)} with peers; chance alone would let {Math.Max(0.1, report.Judged * PeerComparison.Rare):0.#} of them stand out.{found}");
        }

        if (report.TooFew > 0)
        {
            yield return $"Too few peers in {Comparisons(report.TooFew)}: among fewer than {PeerComparison.LeastWashers} washers with as many stations, or {PeerComparison.LeastWashers} stations of one washer, nobody can tell how much they differ by nature.";
        }

        if (report.Judged > 0 || report.Differing.Count > 0)
        {
            yield return Note;
        }
    }

    private static string Comparisons(int count) => $"{count} comparison{(count == 1 ? "" : "s")}";

    private static string Peers(PeerStanding standing) => standing.Peers == 2 ? "the other" : $"the other {standing.Peers - 1}";
}
