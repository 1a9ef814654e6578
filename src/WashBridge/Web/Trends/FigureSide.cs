using WashBridge.Analysis.Indices;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;

namespace WashBridge.Web.Trends;

/// <summary>Whether a figure moved to the side that is bad for the kegs or the washer.</summary>
internal static class FigureSide
{
    /// <returns>Null: neither side is.</returns>
    public static bool? IsBad(DriftFinding drift)
    {
        var own = drift.Feature.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal) ? drift.Feature[Feature.PeersPrefix.Length..] : drift.Feature;
        var worse = own.Split('@')[0] == DrainIndex.Name ? Worse.Higher : FeatureCatalogue.Find(own)?.Worse;
        return (drift.Chart, worse) switch
        {
            (ChartKind.Group, _) => null,
            (_, Worse.Higher) => drift.Size > 0,
            (_, Worse.Lower) => drift.Size < 0,
            _ => null,
        };
    }

    /// <summary>The change as a share of the usual value; null where zero of the unit is no nothing, or where the usual is near it.</summary>
    public static double? Share(DriftFinding drift) =>
        drift.Chart == ChartKind.Group || drift.Feature.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal) || drift.Unit is "Cel" or "bar(a)" || drift.Centre < 3 * drift.Spread || drift.Centre <= 0
            ? null
            : drift.Size / drift.Centre;

    /// <summary>1 to 8; 0: the washer as a whole.</summary>
    public static int Station(string figure) => figure.Split('@') is [_, var at] && int.TryParse(at, out var station) ? station : 0;
}
