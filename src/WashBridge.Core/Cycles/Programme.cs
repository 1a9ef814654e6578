using System.Text.Json.Serialization;

namespace WashBridge.Core.Cycles;

/// <summary>What a phase is for (phase as in IEC 61512 / ISA-88).</summary>
[JsonConverter(typeof(JsonStringEnumConverter<PhaseKind>))]
public enum PhaseKind
{
    Rinse = 0,
    CausticWash = 1,
    AcidWash = 2,
    Sanitise = 3,
    Evacuate = 4,
    Purge = 5,

    /// <summary>Heat by hot water or steam.</summary>
    HeatSanitise = 6,
}

/// <summary>What happens inside a phase.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<StepKind>))]
public enum StepKind
{
    WallSpray = 0,
    SpearRinse = 1,

    /// <summary>Nothing moves: the liquid (or heat) works.</summary>
    Hold = 2,
    Drain = 3,
    Pressurise = 4,
    Vent = 5,
}

/// <summary>One phase of a washer's programme, in the order in which the controller runs it.</summary>
/// <param name="Id">The phase's name at this site, unique in the programme, such as <c>rinse-after-caustic</c>.</param>
/// <param name="Kind">What it is for.</param>
/// <param name="Steps">The steps of one pass, in order.</param>
public sealed record PhaseDefinition(string Id, PhaseKind Kind, IReadOnlyList<StepKind> Steps);

/// <summary>Where in the programme the controller is.</summary>
/// <param name="Phase">A <see cref="PhaseDefinition.Id"/>.</param>
/// <param name="Step">The step.</param>
/// <param name="Pass">The pass, from 1, where the controller tells it; null where it follows from repetition.</param>
public readonly record struct ProgrammePosition(string Phase, StepKind Step, int? Pass = null);
