using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Core.Upkeep;

/// <summary>What can wear. A component at a washer is written as kind, of what, and station: <c>drain-valve@2</c>, <c>dosing-tube/caustic</c>, <c>bath/acid</c>.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<ComponentKind>))]
public enum ComponentKind
{
    DrainValve = 0,
    DrainSensor = 1,
    SprayPump = 2,
    DosingTube = 3,
    DosingCheckValve = 4,
    Heater = 5,
    Co2Supply = 6,
    Bath = 7,
}

/// <param name="Kind">What it is.</param>
/// <param name="Of">The bath it serves (<c>caustic</c>, <c>acid</c>, <c>sanitiser</c>), or empty.</param>
/// <param name="Station">1 to 8; 0: the washer's.</param>
public sealed record Component(ComponentKind Kind, string Of = "", int Station = 0)
{
    [JsonIgnore]
    public string Key => KindName(Kind) + (Of.Length > 0 ? "/" + Of : "") + (Station > 0 ? $"@{Station}" : "");

    public static string KindName(ComponentKind kind) => kind switch
    {
        ComponentKind.DrainValve => "drain-valve",
        ComponentKind.DrainSensor => "drain-sensor",
        ComponentKind.SprayPump => "spray-pump",
        ComponentKind.DosingTube => "dosing-tube",
        ComponentKind.DosingCheckValve => "dosing-check-valve",
        ComponentKind.Heater => "heater",
        ComponentKind.Co2Supply => "co2-supply",
        ComponentKind.Bath => "bath",
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };

    /// <exception cref="FormatException"><paramref name="key"/> is not written as <see cref="Key"/>.</exception>
    public static Component Parse(string key)
    {
        ArgumentNullException.ThrowIfNull(key);
        var station = 0;
        var rest = key;
        if (key.Split('@') is { Length: 2 } parts)
        {
            rest = parts[0];
            station = int.TryParse(parts[1], out var number) && number is >= 1 and <= 8 ? number : throw Unknown(key);
        }

        var names = rest.Split('/');
        foreach (var kind in Enum.GetValues<ComponentKind>())
        {
            if (names.Length <= 2 && names[0] == KindName(kind))
            {
                return new Component(kind, names.Length == 2 ? names[1] : "", station);
            }
        }

        throw Unknown(key);
    }

    private static FormatException Unknown(string key) => new(
        $"'{key}': no component. Allowed: {string.Join(", ", Enum.GetValues<ComponentKind>().Select(KindName))}, with /caustic, /acid or /sanitiser for dosing and baths, and @1 to @8 for what a station has.");
}

/// <summary>What was done to a component.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<MaintenanceKind>))]
public enum MaintenanceKind
{
    /// <summary>New: age and reference begin anew.</summary>
    Replaced = 0,

    /// <summary>Cleaned or adjusted: the reference begins anew, age goes on.</summary>
    Restored = 1,

    /// <summary>Looked at and left as it was: nothing begins anew.</summary>
    Inspected = 2,
}

/// <summary>How much a forecast can say.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<ForecastState>))]
public enum ForecastState
{
    /// <summary>Too few cycles, or the index could not be measured.</summary>
    NotEnoughEvidence = 0,

    /// <summary>Enough cycles, and no trend towards the limit that stands out of the noise.</summary>
    NoTrend = 1,

    /// <summary>A trend, and a distribution of the cycles left.</summary>
    Approaching = 2,

    /// <summary>The index is at or beyond its limit.</summary>
    Reached = 3,
}

/// <summary>What is known of how long a component will go on.</summary>
public sealed record Forecast
{
    public required Component Component { get; init; }

    public required ForecastState State { get; init; }

    /// <summary>The index that stands for the component's health, its unit, its smoothed value now, and the value at which it counts as failed.</summary>
    public required string Index { get; init; }

    public required string Unit { get; init; }

    public double? Now { get; init; }

    public double? Limit { get; init; }

    /// <summary>Where the limit comes from: the washer's own time-out, the user's, or a default that is a common practice.</summary>
    public string LimitSource { get; init; } = "";

    /// <summary>Change of the index per 1,000 cycles, robust, and its standard uncertainty.</summary>
    public double? Slope { get; init; }

    public double? SlopeUncertainty { get; init; }

    /// <summary>Cycles left until the limit: median, and the interval that holds it in 8 of 10 cases. Null: none, or so far that it says nothing.</summary>
    public double? CyclesLeft { get; init; }

    public double? CyclesLeftLower { get; init; }

    public double? CyclesLeftUpper { get; init; }

    /// <summary>The same by the site's shift pattern. Null where cycles a day are not known.</summary>
    public Instant? Due { get; init; }

    public Instant? DueEarliest { get; init; }

    public Instant? DueLatest { get; init; }

    /// <summary>Cycles since the last maintenance that began the reference anew.</summary>
    public int Cycles { get; init; }

    /// <summary>What likely lies behind it, the best fitting first; empty while nothing stands out. A ranking, never a certainty.</summary>
    public IReadOnlyList<Cause> Causes { get; init; } = [];

    /// <summary>One sentence each for a person.</summary>
    public IReadOnlyList<string> Evidence { get; init; } = [];
}

/// <summary>One possible cause.</summary>
/// <param name="Name">Such as <c>clogging-valve</c>.</param>
/// <param name="Title">For people.</param>
/// <param name="Weight">Share of belief among the causes compared, 0 to 1.</param>
/// <param name="For">Evidence that speaks for it.</param>
/// <param name="Against">Evidence that speaks against it.</param>
public sealed record Cause(string Name, string Title, double Weight, IReadOnlyList<string> For, IReadOnlyList<string> Against);

/// <summary>How a forecast stood against what happened.</summary>
/// <param name="Forecast">As it stood.</param>
/// <param name="MadeAt">When it was made.</param>
/// <param name="CyclesRun">Cycles from then to the maintenance.</param>
/// <param name="Index">The index just before the maintenance; null if it was not measured.</param>
/// <param name="Outcome">One sentence.</param>
public sealed record ForecastScore(Forecast Forecast, Instant MadeAt, int CyclesRun, double? Index, string Outcome);
