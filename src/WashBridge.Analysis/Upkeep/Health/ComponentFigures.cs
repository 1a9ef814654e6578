using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>Which figures and indices tell of which part.</summary>
internal static class ComponentFigures
{
    /// <summary>A signal about a figure asks for the causes of a part: of its own figures, and of what acts on all drains.</summary>
    public static bool Concerns(Component component, string name, int station) =>
        Of(component, name, station) || (component.Kind == ComponentKind.DrainValve && Feature.FamilyOf(name) is "air-pressure" or "liquid" or "water-pressure");

    /// <summary>Figures that are learned anew when something was done to a part.</summary>
    /// <param name="component">The part.</param>
    /// <param name="name">Of the figure, without station.</param>
    /// <param name="station">Of the figure; 0: the washer's.</param>
    public static bool Of(Component component, string name, int station)
    {
        var family = Feature.FamilyOf(name);
        return component.Kind switch
        {
            ComponentKind.DrainValve or ComponentKind.DrainSensor => station == component.Station && family is "drain-time" or "drain-bounce" or "drain-wet-before" or "drain-index",
            ComponentKind.SprayPump => family is "spray-pressure" or "spray-flow" or "spray-current" && !name.StartsWith(family + "/water", StringComparison.Ordinal),
            ComponentKind.DosingTube or ComponentKind.DosingCheckValve => family is "dosing-time" or "dosing-response" or "dosing-loss" && HealthReader.Part(name) == component.Of,
            ComponentKind.Heater => family is "heat-up-rate" or "heater-time" or "heater-duty" && HealthReader.Part(name) == component.Of,
            ComponentKind.Co2Supply => family is "co2-rest" or "co2-flow" or "purge-high" or "purge-low" or "purge-rise",
            ComponentKind.Bath => (family is "strength" or "level" && HealthReader.Part(name) == component.Of) || (family == "rinse-out" && name.Contains(component.Of, StringComparison.Ordinal)),
            _ => false,
        };
    }
}
