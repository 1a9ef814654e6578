using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Upkeep;

namespace WashBridge.Configuration.Binding;

/// <summary>The names by which the analysis knows its indices: alone, for all that it has of a kind, or with the station or the bath that one is of.</summary>
internal static class IndexNames
{
    private static readonly string[] Baths = ["caustic", "acid", "sanitiser"];

    /// <param name="stations">Of the washer, 1 to 8.</param>
    public static IReadOnlyList<string> Allowed(int stations) =>
    [
        .. HealthIndex.All.SelectMany(i => new[] { i.Name }
            .Concat(IsOfStation(i) ? Enumerable.Range(1, stations).Select(s => $"{i.Name}@{s}") : [])
            .Concat(IsOfBath(i) ? Baths.Select(b => $"{i.Name}/{b}") : [])),
    ];

    /// <summary>The same in words that fit a line.</summary>
    public static string Describe(int stations) => string.Join("; ", HealthIndex.All.GroupBy(i => IsOfStation(i) ? 0 : IsOfBath(i) ? 1 : 2).OrderBy(g => g.Key).Select(g =>
        string.Join(", ", g.Select(i => i.Name)) + g.Key switch
        {
            0 => stations == 1 ? ", also with @1" : $", also with @1 to @{stations}",
            1 => ", also with /" + string.Join(", /", Baths),
            _ => "",
        }));

    private static bool IsOfStation(HealthIndex index) => index.Kind is ComponentKind.DrainValve or ComponentKind.DrainSensor;

    private static bool IsOfBath(HealthIndex index) => index.Kind is ComponentKind.DosingTube or ComponentKind.DosingCheckValve or ComponentKind.Heater or ComponentKind.Bath;
}
