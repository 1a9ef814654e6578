using WashBridge.Core.Features;

namespace WashBridge.Analysis.Charts;

/// <summary>Which figures are watched together: those that one cause moves.</summary>
internal static class FigureGroups
{
    public const string Prefix = "group/";

    /// <summary>Most figures of one group; further ones are left out.</summary>
    public const int Most = 24;

    /// <summary>The groups of a figure, mostly one, with <see cref="Prefix"/>.</summary>
    public static IEnumerable<string> Of(string name)
    {
        var family = Feature.FamilyOf(name);
        switch (family)
        {
            case "spray-pressure" or "spray-current" or "spray-flow" or "water-pressure":
                yield return Prefix + "sprays";
                break;
            case Indices.DrainIndex.Name or "drain-bounce" or "drain-wet-before":
                yield return Prefix + "drains";
                break;
            // Not the purge's swings: what polls see of them hangs together in ways that no correlation tells.
            case "co2-rest" or "co2-flow":
                yield return Prefix + "gas";
                break;
            case "strength" or "level" or "dosing-time" or "dosing-response" or "heater-time" or "heat-up-rate" when name.Length > family.Length:
                yield return $"{Prefix}bath/{name[(family.Length + 1)..].Split('/')[0]}";
                break;
        }

        if (family is "temperature-mean" or "temperature-return" or "heat-up-rate" or "heater-time")
        {
            yield return Prefix + "temperatures";
        }
    }
}
