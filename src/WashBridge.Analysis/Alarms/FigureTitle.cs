using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Indices;
using WashBridge.Core.Features;

namespace WashBridge.Analysis.Alarms;

/// <summary>What findings call figures, for people.</summary>
public static class FigureTitle
{
    /// <summary>What is measured, without where, such as "mean pressure during spray".</summary>
    /// <param name="feature">Key of a figure, of a difference from peers, or of a group.</param>
    public static string Of(string feature)
    {
        ArgumentNullException.ThrowIfNull(feature);
        return Feature.FamilyOf(feature.Split('@')[0]) == DrainIndex.Name
            ? "drain time, as a multiple of what the liquid delivered lets expect"
            : FeatureCatalogue.Find(feature)?.Title ?? feature;
    }

    /// <summary>The same with its station, and with what it is compared to: "drain time, ..., at station 2, against the washer's other stations".</summary>
    /// <inheritdoc cref="Of"/>
    public static string WithPlace(string feature)
    {
        ArgumentNullException.ThrowIfNull(feature);
        if (feature.StartsWith(FigureGroups.Prefix, StringComparison.Ordinal))
        {
            return $"figures of {feature[FigureGroups.Prefix.Length..].Replace("bath/", "the bath ", StringComparison.Ordinal)} together";
        }

        var station = feature.Split('@') is { Length: 2 } parts ? $", at station {parts[1]}" : "";
        return Of(feature) + station + (feature.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal) ? ", against the washer's other stations" : "");
    }
}
