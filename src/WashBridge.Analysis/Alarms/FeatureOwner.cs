using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Alarms;

/// <summary>Which components a figure tells of, so that a drift and the forecast of the component behind it are one alarm and not two.</summary>
public static class FeatureOwner
{
    private static readonly Dictionary<string, ComponentKind[]> Kinds = new(StringComparer.Ordinal)
    {
        ["drain-time"] = [ComponentKind.DrainValve, ComponentKind.DrainSensor],
        ["drain-index"] = [ComponentKind.DrainValve, ComponentKind.DrainSensor],
        ["drain-bounce"] = [ComponentKind.DrainSensor],
        ["drain-wet-before"] = [ComponentKind.DrainSensor, ComponentKind.DrainValve],
        ["spray-pressure"] = [ComponentKind.SprayPump],
        ["spray-current"] = [ComponentKind.SprayPump],
        ["spray-flow"] = [ComponentKind.SprayPump],
        ["temperature-mean"] = [ComponentKind.Heater],
        ["temperature-return"] = [ComponentKind.Heater],
        ["heat-up-rate"] = [ComponentKind.Heater],
        ["heater-time"] = [ComponentKind.Heater],
        ["dosing-time"] = [ComponentKind.DosingTube, ComponentKind.DosingCheckValve],
        ["dosing-response"] = [ComponentKind.DosingTube, ComponentKind.DosingCheckValve],
        ["strength"] = [ComponentKind.Bath, ComponentKind.DosingTube, ComponentKind.DosingCheckValve],
        ["rinse-out"] = [ComponentKind.Bath],
        ["level"] = [ComponentKind.Bath],
        ["co2-rest"] = [ComponentKind.Co2Supply],
        ["co2-flow"] = [ComponentKind.Co2Supply],
        ["purge-high"] = [ComponentKind.Co2Supply],
        ["purge-rise"] = [ComponentKind.Co2Supply],
    };

    /// <summary>
    /// Whether a figure (a key such as <c>drain-time/rinse/1@2</c> or <c>strength/caustic</c>) tells of a component: of its kind, of the same station where
    /// both have one, and of the same bath where both name one.
    /// </summary>
    public static bool Owns(Component component, string feature)
    {
        ArgumentNullException.ThrowIfNull(component);
        ArgumentNullException.ThrowIfNull(feature);
        var parts = feature.Split('@');
        var station = parts.Length == 2 && int.TryParse(parts[1], out var number) ? number : 0;
        return Kinds.TryGetValue(Feature.FamilyOf(parts[0]), out var kinds)
            && kinds.Contains(component.Kind)
            && (station == component.Station || station == 0 || component.Station == 0)
            && (component.Of.Length == 0 || BathOf(parts[0]) is not { } bath || bath == component.Of);
    }

    /// <summary>
    /// What figures share that drift for one reason: their family, their station, and their bath where each bath has a part of its own. <c>drain-time/rinse/1@2</c> gives
    /// <c>drain-time@2</c>, <c>strength/caustic</c> itself, <c>spray-flow/caustic</c> gives <c>spray-flow</c>.
    /// </summary>
    public static string Group(string feature)
    {
        ArgumentNullException.ThrowIfNull(feature);
        var parts = feature.Split('@');
        var family = Feature.FamilyOf(parts[0]);
        var bath = Kinds.TryGetValue(family, out var kinds) && kinds.Any(HasBath) ? BathOf(parts[0]) : null;
        return family + (bath is null ? "" : "/" + bath) + (parts.Length == 2 ? "@" + parts[1] : "");
    }

    private static bool HasBath(ComponentKind kind) => kind is ComponentKind.Bath or ComponentKind.DosingTube or ComponentKind.DosingCheckValve or ComponentKind.Heater;

    private static string? BathOf(string name) => name.Split('/').Skip(1).Select(p => p switch
    {
        "caustic" or "caustic-wash" => "caustic",
        "acid" or "acid-wash" => "acid",
        "sanitiser" or "sanitise" => "sanitiser",
        _ => null,
    }).FirstOrDefault(b => b is not null);
}
