using System.Text.Json.Serialization;

namespace WashBridge.Core.Features;

/// <summary>One figure of one cycle, such as how long a drain took. What could not be seen is missing from the cycle's list; it is never zero.</summary>
/// <param name="Name">A family of <see cref="FeatureCatalogue"/> and what it is of, as <c>drain-time/rinse-after-caustic/1</c> or <c>spray-pressure/caustic</c>.</param>
/// <param name="Station">1 to 8; 0: the washer as a whole.</param>
/// <param name="Value">Best estimate, in the family's unit; finite.</param>
/// <param name="Uncertainty">Standard uncertainty after the GUM of this value as a measurement (poll bounds, sensor resolution), same unit; 0 where it is exact.</param>
public readonly record struct Feature(string Name, int Station, double Value, double Uncertainty)
{
    /// <summary>Name and station in one: <c>drain-time/rinse/1@2</c>; without a station for the washer as a whole.</summary>
    [JsonIgnore]
    public string Key => KeyOf(Name, Station);

    [JsonIgnore]
    public string Family => FamilyOf(Name);

    public static string KeyOf(string name, int station) => station == 0 ? name : $"{name}@{station}";

    /// <summary>Goes before the key of a figure that is not watched itself, but in its difference from the washer's other stations: <c>peers/purge-high@3</c>.</summary>
    public const string PeersPrefix = "peers/";

    public static string FamilyOf(string name)
    {
        var own = name.StartsWith(PeersPrefix, StringComparison.Ordinal) ? name[PeersPrefix.Length..] : name;
        return own.IndexOf('/', StringComparison.Ordinal) is > 0 and var end ? own[..end] : own;
    }
}
