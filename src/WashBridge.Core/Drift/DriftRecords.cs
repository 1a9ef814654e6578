using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Core.Drift;

/// <summary>Which kind of chart gave a signal.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<ChartKind>))]
public enum ChartKind
{
    /// <summary>One cycle, far out.</summary>
    Individuals = 0,

    /// <summary>Exponentially weighted moving average: small lasting shifts.</summary>
    Ewma = 1,

    /// <summary>Cumulative sum: lasting shifts of about a standard deviation.</summary>
    Cusum = 2,

    /// <summary>Several features together.</summary>
    Group = 3,

    /// <summary>One station or washer against its peers.</summary>
    Peers = 4,
}

/// <summary>A measured figure left its reference: what, since when, by how much, and whom it touches.</summary>
public sealed record DriftFinding
{
    /// <summary>Key of the feature or index, such as <c>drain-index@2</c>; of a group: its name.</summary>
    public required string Feature { get; init; }

    public required ChartKind Chart { get; init; }

    public required string Unit { get; init; }

    /// <summary>The reference period's robust centre, and the spread of single cycles (standard deviation), in <see cref="Unit"/>.</summary>
    public required double Centre { get; init; }

    public required double Spread { get; init; }

    /// <summary>Cycles in the reference.</summary>
    public required int ReferenceCycles { get; init; }

    /// <summary>Estimated change from the centre since the onset, in <see cref="Unit"/>, and its standard uncertainty. Of a group: the distance (0 or more) in standard deviations.</summary>
    public required double Size { get; init; }

    public required double SizeUncertainty { get; init; }

    public required CycleSpan Onset { get; init; }

    /// <summary>Cycles from the onset's best estimate to the signal, both included.</summary>
    public required int CyclesTouched { get; init; }

    /// <summary>Ids of kegs washed in those cycles (at the station, where the feature has one), the latest last; at most 200, and how many there were.</summary>
    public required IReadOnlyList<string> Kegs { get; init; }

    public required int KegCount { get; init; }

    /// <summary>The promise under which this signal was given: one false alarm of this washer in so many cycles.</summary>
    public required double FalseAlarmEvery { get; init; }

    /// <summary>Of a group: the features that carry the signal, the strongest first, with their share of it.</summary>
    public IReadOnlyList<Contribution> Contributions { get; init; } = [];
}

/// <param name="Feature">Its key.</param>
/// <param name="Share">0 to 1.</param>
public sealed record Contribution(string Feature, double Share);

/// <summary>When something began: the cycle that is the best estimate, and the interval in which it lies with about 90 % confidence.</summary>
/// <param name="Cycle">Id of the cycle.</param>
/// <param name="At">Its end.</param>
/// <param name="Earliest">End of the first cycle of the interval.</param>
/// <param name="Latest">End of its last cycle.</param>
public sealed record CycleSpan(string Cycle, Instant At, Instant Earliest, Instant Latest);

/// <summary>A controller's setting differs from the approved one.</summary>
/// <param name="Setpoint">Its name without the prefix, such as <c>sanitise.hold</c>.</param>
/// <param name="Unit">Unit of both values.</param>
/// <param name="Approved">As the recipe has it.</param>
/// <param name="Set">As the controller has it.</param>
/// <param name="Recipe">Id and version of the recipe.</param>
public sealed record SetpointFinding(string Setpoint, string Unit, double Approved, double Set, string Recipe, int RecipeVersion);
