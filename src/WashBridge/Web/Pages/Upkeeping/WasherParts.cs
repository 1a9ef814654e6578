using WashBridge.Configuration;
using WashBridge.Core.Upkeep;
using WashBridge.Reporting;

namespace WashBridge.Web.Pages.Upkeeping;

/// <summary>The parts of a washer that work can be recorded for: those its signals and its stations tell of, and those that have a forecast.</summary>
internal static class WasherParts
{
    private static readonly string[] Baths = ["caustic", "acid", "sanitiser"];

    public static IReadOnlyList<Component> Of(WasherConfiguration washer, IEnumerable<ForecastLine> forecasts)
    {
        var names = washer.Model.Signals.Select(s => s.Name).ToHashSet(StringComparer.Ordinal);
        var parts = new List<Component>();
        foreach (var kind in (ComponentKind[])[ComponentKind.DrainValve, ComponentKind.DrainSensor])
        {
            parts.AddRange(Enumerable.Range(1, washer.Model.Stations).Select(s => new Component(kind, "", s)));
        }

        if (washer.Model.Signals.Any(s => s.Name == "drain.dry" && s.Station == 0))
        {
            parts.Add(new Component(ComponentKind.DrainSensor));
        }

        parts.Add(new Component(ComponentKind.SprayPump));
        foreach (var bath in Baths.Where(b => names.Contains("dosing." + b)))
        {
            parts.Add(new Component(ComponentKind.DosingTube, bath));
            parts.Add(new Component(ComponentKind.DosingCheckValve, bath));
        }

        parts.AddRange(Baths.Where(b => names.Contains("heater." + b)).Select(b => new Component(ComponentKind.Heater, b)));
        parts.Add(new Component(ComponentKind.Co2Supply));
        parts.AddRange(Baths.Where(b => HasBath(washer, b)).Select(b => new Component(ComponentKind.Bath, b)));
        return [.. parts.Concat(forecasts.Where(f => f.Made.Washer == washer.Model.Washer).Select(f => f.Forecast.Component)).DistinctBy(c => c.Key)];
    }

    /// <summary>Any signal of the bath, or a phase that uses it.</summary>
    public static bool HasBath(WasherConfiguration washer, string bath) =>
        washer.Model.Signals.Any(s => s.Name.EndsWith("." + bath, StringComparison.Ordinal))
        || washer.Model.Programme.Any(p => p.Kind == PhaseOf(bath));

    private static Core.Cycles.PhaseKind PhaseOf(string bath) => bath switch
    {
        "caustic" => Core.Cycles.PhaseKind.CausticWash,
        "acid" => Core.Cycles.PhaseKind.AcidWash,
        _ => Core.Cycles.PhaseKind.Sanitise,
    };
}
