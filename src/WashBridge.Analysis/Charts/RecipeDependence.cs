using WashBridge.Core.Features;

namespace WashBridge.Analysis.Charts;

/// <summary>Which figures another recipe gives another reference.</summary>
internal static class RecipeDependence
{
    // What supplies and machine parts do whatever the programme asks for. The drain index allows for the recipe by itself.
    private static readonly HashSet<string> Independent = new(StringComparer.Ordinal)
    {
        Indices.DrainIndex.Name, "drain-bounce", "drain-wet-before", "spray-pressure", "spray-current", "spray-flow", "water-pressure", "air-pressure", "co2-rest", "co2-flow",
    };

    public static bool Of(string name) => !Independent.Contains(Feature.FamilyOf(name));
}
