using WashBridge.Analysis.Peers;
using WashBridge.Core.Features;

namespace WashBridge.Reporting;

/// <summary>How washers and stations stand beside their peers.</summary>
internal sealed class PeerReport
{
    private PeerReport(IReadOnlyList<PeerStanding> standings) => Standings = standings;

    /// <summary>Of all that was compared, or of one washer, by figure.</summary>
    public IReadOnlyList<PeerStanding> Standings { get; }

    /// <summary>
    /// Whoever is unlike its peers, a line for each and each family of figures. A washer is left out where a station of it says why; of two peers only the one on the bad side is named, or
    /// the higher where neither side is bad.
    /// </summary>
    public IReadOnlyList<PeerLine> StandOut => Lines(PeerState.StandsOut);

    /// <summary>Whoever differs from the few peers there are, told in the same way.</summary>
    public IReadOnlyList<PeerLine> Differing => Lines(PeerState.TooFewPeers);

    /// <summary>Comparisons that could have shown that one is unlike the rest.</summary>
    public int Judged => Comparisons(Standings.Where(s => s.Probability is not null));

    /// <summary>Comparisons between too few.</summary>
    public int TooFew => Comparisons(Standings.Where(s => s.Probability is null));

    /// <param name="cycles">By washer, in order.</param>
    /// <param name="washer">Tells of this one only, compared with all; null: of all.</param>
    /// <returns>Null where there is nobody to compare: no cycles, or one washer with one station.</returns>
    public static PeerReport? Of(IReadOnlyDictionary<string, IReadOnlyList<CycleFeatures>> cycles, string? washer)
    {
        var hasPeers = cycles.Count > 1 || cycles.Values.Any(w => w.Any(c => c.Kegs.Count > 1));
        return hasPeers ? new PeerReport([.. PeerComparison.Of(cycles).Where(s => washer is null || s.Washer == washer)]) : null;
    }

    private static int Comparisons(IEnumerable<PeerStanding> standings) => standings.Select(s => (s.Feature, s.Recipe, s.Station > 0)).Distinct().Count();

    private List<PeerLine> Lines(PeerState state)
    {
        var lines = PeerLine.Of(Standings.Where(s => s.State == state && IsNamed(s))).ToList();
        var stations = lines.Where(l => l.Clearest.Station > 0).Select(l => (l.Clearest.Washer, l.Family)).ToHashSet();
        return [.. lines.Where(l => l.Clearest.Station > 0 || !stations.Contains((l.Clearest.Washer, l.Family)))];
    }

    private static bool IsNamed(PeerStanding standing) => standing.Peers > 2 || (PeerLine.IsWorse(standing) ?? standing.Difference > 0);
}

/// <summary>One washer or station and one family of figures in which it differs.</summary>
/// <param name="Clearest">The figure in which it differs most clearly.</param>
/// <param name="Others">Further figures of the family in which it differs.</param>
internal sealed record PeerLine(PeerStanding Clearest, int Others)
{
    public string Family => Feature.FamilyOf(Clearest.Feature);

    public static IEnumerable<PeerLine> Of(IEnumerable<PeerStanding> standings) => standings
        .GroupBy(s => (s.Washer, s.Station, Family: Feature.FamilyOf(s.Feature)))
        .OrderBy(g => g.Key.Washer, StringComparer.Ordinal).ThenBy(g => g.Key.Station).ThenBy(g => g.Key.Family, StringComparer.Ordinal)
        .Select(g => new PeerLine(g.OrderBy(s => s.Probability ?? 1).ThenByDescending(s => Math.Abs(s.Difference) / s.Uncertainty).First(), g.Count() - 1));

    /// <summary>Whether it is on the side that is bad for this figure; null: neither is.</summary>
    public static bool? IsWorse(PeerStanding standing) => FeatureCatalogue.Find(standing.Feature)?.Worse switch
    {
        Worse.Higher => standing.Difference > 0,
        Worse.Lower => standing.Difference < 0,
        _ => null,
    };
}
