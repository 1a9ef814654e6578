using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;

namespace WashBridge.Core.Recipes;

/// <summary>The approved programme's limits, versioned. A verdict names the recipe and version it was reached with.</summary>
public sealed record Recipe
{
    public required string Id { get; init; }

    /// <summary>From 1; a change of any limit is a new version.</summary>
    public required int Version { get; init; }

    public string Title { get; init; } = "";

    public DecisionRule Rule { get; init; } = DecisionRule.Bounds;

    public required IReadOnlyList<Requirement> Requirements { get; init; }

    /// <summary>What the controller must be set to, by the setpoint's name without its prefix, such as <c>sanitise.hold</c>. A setpoint that is not named is free.</summary>
    public IReadOnlyDictionary<string, ApprovedSetpoint> Setpoints { get; init; } = new Dictionary<string, ApprovedSetpoint>();
}

/// <summary>What a setpoint is approved to be.</summary>
/// <param name="Value">In <paramref name="Unit"/>.</param>
/// <param name="Unit">As the tag map gives it.</param>
/// <param name="Tolerance">So far from the value, either way, is as approved: same unit, 0 or more.</param>
public sealed record ApprovedSetpoint(double Value, string Unit, double Tolerance = 0)
{
    public bool Holds(double value) => Math.Abs(value - Value) <= Tolerance;
}

/// <summary>The recipes of a washer.</summary>
/// <param name="Standard">For every programme that has none of its own.</param>
/// <param name="ByProgramme">By the number that the controller shows.</param>
public sealed record ApprovedRecipes(Recipe Standard, IReadOnlyDictionary<int, Recipe> ByProgramme)
{
    public Recipe For(int? programme) => programme is { } number && ByProgramme.TryGetValue(number, out var recipe) ? recipe : Standard;

    public IEnumerable<Recipe> All => ByProgramme.Values.Prepend(Standard);
}

/// <summary>How a verdict follows from a measured interval.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<DecisionMethod>))]
public enum DecisionMethod
{
    /// <summary>Met needs the whole interval to conform, not met needs the whole interval to miss; all else is not proven.</summary>
    Bounds = 0,

    /// <summary>A guard band after JCGM 106:2012, 8.3: met and not met at a stated risk, from the standard uncertainty.</summary>
    GuardBand = 1,
}

/// <summary>The decision rule, named on every record that used it.</summary>
/// <param name="Method">The method.</param>
/// <param name="Risk">For the guard band: the largest accepted probability of a false decision, above 0 and below 0.5.</param>
public sealed record DecisionRule(DecisionMethod Method, double Risk)
{
    public static DecisionRule Bounds { get; } = new(DecisionMethod.Bounds, 0);
}

/// <summary>The start or the end of a step (or of a phase, when no step is named).</summary>
/// <param name="Phase">A phase id.</param>
/// <param name="Step">The step, or null for the phase as a whole.</param>
/// <param name="Side">Which end.</param>
public sealed record EdgeName(string Phase, StepKind? Step, EdgeSide Side);

[JsonConverter(typeof(JsonStringEnumConverter<EdgeSide>))]
public enum EdgeSide
{
    Start = 0,
    End = 1,
}

/// <summary>One thing that every keg must have had.</summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "type")]
[JsonDerivedType(typeof(ContactTime), "contact-time")]
[JsonDerivedType(typeof(StepTime), "step-time")]
[JsonDerivedType(typeof(TimeBeyond), "time-beyond")]
[JsonDerivedType(typeof(PassCount), "pass-count")]
[JsonDerivedType(typeof(SwingCount), "swing-count")]
[JsonDerivedType(typeof(PhaseOrder), "phase-order")]
[JsonDerivedType(typeof(DrainLimit), "drain-limit")]
[JsonDerivedType(typeof(ResidualOxygen), "residual-oxygen")]
[JsonDerivedType(typeof(ThermalDose), "thermal-dose")]
public abstract record Requirement
{
    /// <summary>Unique in the recipe, such as <c>sanitiser-dwell</c>.</summary>
    public required string Id { get; init; }

    /// <summary>For people: what this asks for.</summary>
    public string Title { get; init; } = "";
}

/// <summary>From one named edge to another, in the same pass of the same cycle: at least, at most, or both. A pass that has it suffices unless <see cref="EveryPass"/>.</summary>
public sealed record ContactTime : Requirement
{
    public required EdgeName From { get; init; }

    public required EdgeName To { get; init; }

    public TimeSpan? AtLeast { get; init; }

    public TimeSpan? AtMost { get; init; }

    public bool EveryPass { get; init; }
}

/// <summary>A step held without interruption in a pass, or summed over all passes of the phase.</summary>
public sealed record StepTime : Requirement
{
    public required string Phase { get; init; }

    public required StepKind Step { get; init; }

    public TimeSpan? AtLeast { get; init; }

    public TimeSpan? AtMost { get; init; }

    /// <summary>Sum over the passes; otherwise every pass must hold on its own.</summary>
    public bool Total { get; init; }
}

/// <summary>Time, within the named phases, during which a signal was at or above (or at or below) a value: temperature, strength, pressure.</summary>
public sealed record TimeBeyond : Requirement
{
    /// <summary>A catalogue name.</summary>
    public required string Signal { get; init; }

    /// <summary>In the signal's unit.</summary>
    public required double Value { get; init; }

    /// <summary>True: time at or below; false: time at or above.</summary>
    public bool Below { get; init; }

    public required IReadOnlyList<string> Phases { get; init; }

    public required TimeSpan AtLeast { get; init; }

    /// <summary>Standard uncertainty of the sensor in the signal's unit; its double is taken from every reading before it counts. 0: take readings as they are.</summary>
    public double SensorUncertainty { get; init; }
}

public sealed record PassCount : Requirement
{
    public required string Phase { get; init; }

    public required int AtLeast { get; init; }
}

/// <summary>Pressurise and vent pairs in a phase.</summary>
public sealed record SwingCount : Requirement
{
    public required string Phase { get; init; }

    public required int AtLeast { get; init; }
}

/// <summary>The named phases ran, and in this order. Phases not named may come between.</summary>
public sealed record PhaseOrder : Requirement
{
    public required IReadOnlyList<string> Phases { get; init; }
}

/// <summary>Every drain (of the phases named, or of all) was dry within this time.</summary>
public sealed record DrainLimit : Requirement
{
    public required TimeSpan AtMost { get; init; }

    /// <summary>Empty: all phases.</summary>
    public IReadOnlyList<string> Phases { get; init; } = [];
}

/// <summary>Oxygen left in the keg's gas after the purge, calculated from the pressures of each swing.</summary>
public sealed record ResidualOxygen : Requirement
{
    public required string Phase { get; init; }

    /// <summary>Volume fraction, such as 0.01 for 1 %.</summary>
    public required double AtMost { get; init; }

    /// <summary>Volume fraction before the first swing; air by default.</summary>
    public double Initial { get; init; } = 0.2095;

    /// <summary>Volume fraction in the purge gas.</summary>
    public double InPurgeGas { get; init; }

    /// <summary>Standard uncertainty of the pressure sensor, bar; its double widens every pressure.</summary>
    public double SensorUncertainty { get; init; }
}

[JsonConverter(typeof(JsonStringEnumConverter<DoseMethod>))]
public enum DoseMethod
{
    /// <summary>A0 of ISO 15883-1, seconds at 80 Cel equivalent.</summary>
    A0 = 0,

    /// <summary>Pasteurisation units, minutes at 60 Cel equivalent, base 1.393 (Del Vecchio 1951).</summary>
    PasteurisationUnits = 1,
}

public sealed record ThermalDose : Requirement
{
    public required DoseMethod Method { get; init; }

    public required string Signal { get; init; }

    public required IReadOnlyList<string> Phases { get; init; }

    /// <summary>Seconds for A0, minutes for PU.</summary>
    public required double AtLeast { get; init; }

    /// <summary>Standard uncertainty of the sensor, K; its double is taken from every reading before it counts.</summary>
    public double SensorUncertainty { get; init; }
}
