using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>Whether a washer's map lets the wear of a part be forecast.</summary>
/// <param name="Component">The part.</param>
/// <param name="Missing">What each index that would tell of it lacks, the index with the fewest first; empty where one of them can be measured.</param>
public sealed record PartReach(Component Component, IReadOnlyList<string> Missing)
{
    public bool IsReached => Missing.Count == 0;
}

/// <summary>From which signals the health of each part follows: what <see cref="HealthReader"/> makes of the figures, as a table.</summary>
public static class PartNeeds
{
    public static IReadOnlyList<PartReach> Of(WasherModel washer)
    {
        ArgumentNullException.ThrowIfNull(washer);
        var reach = FigureNeeds.Of(washer);
        var parts = new List<PartReach>();
        var isShared = washer.Signals.Any(s => s is { Name: "drain.dry", Station: 0 }) && !washer.Signals.Any(s => s is { Name: "drain.dry", Station: > 0 });
        for (var station = 1; station <= washer.Stations; station++)
        {
            // One sensor for all stations tells the slowest, and not whose it was.
            IReadOnlyList<string> own = washer.Signals.Any(s => s.Name == "drain.dry" && s.Station == station) ? [] : [$"drain.dry of station {station}"];
            parts.Add(new PartReach(new Component(ComponentKind.DrainValve, Station: station), own));
            if (!isShared)
            {
                parts.Add(new PartReach(new Component(ComponentKind.DrainSensor, Station: station), own));
            }
        }

        if (isShared)
        {
            parts.Add(new PartReach(new Component(ComponentKind.DrainSensor), []));
        }

        parts.Add(Part(ComponentKind.SprayPump, "", Needs("spray-pressure", "")));
        parts.Add(Part(ComponentKind.Co2Supply, "", Needs("co2-rest", "")));
        foreach (var bath in FigureNeeds.BathsOf(washer))
        {
            parts.Add(Part(ComponentKind.Bath, bath, Needs("strength", bath), Needs("rinse-out", bath)));
            parts.Add(Part(ComponentKind.DosingTube, bath, Needs("dosing-response", bath)));
            parts.Add(Part(ComponentKind.DosingCheckValve, bath, Needs("dosing-time", bath)));
            if (bath == "caustic")
            {
                parts.Add(Part(ComponentKind.Heater, bath, Needs("heater-time", bath)));
            }
        }

        return parts;

        IReadOnlyList<string> Needs(string family, string of) => reach.First(f => f.Family == family && f.Of == of).Missing;
    }

    /// <summary>One index suffices.</summary>
    private static PartReach Part(ComponentKind kind, string of, params IReadOnlyList<string>[] indices) => new(new Component(kind, of), indices.MinBy(i => i.Count) ?? []);
}
