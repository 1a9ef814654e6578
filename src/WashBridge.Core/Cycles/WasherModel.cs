using WashBridge.Core.Signals;

namespace WashBridge.Core.Cycles;

/// <summary>All that the segmenter must know of a washer: a value made from its configuration.</summary>
public sealed record WasherModel
{
    public required string Washer { get; init; }

    /// <summary>1 to 8.</summary>
    public required int Stations { get; init; }

    /// <summary>The phases in the order in which the controller runs them. A phase may be disabled at the controller: then it does not appear.</summary>
    public required IReadOnlyList<PhaseDefinition> Programme { get; init; }

    /// <summary>How signals tell the position in the programme.</summary>
    public required SequenceRule Sequence { get; init; }

    /// <summary>Every signal of the tag map.</summary>
    public required IReadOnlyList<Signal> Signals { get; init; }

    /// <summary>
    /// Two good reads further apart than this leave a gap: the controller can have left a step and come back to it unseen.
    /// </summary>
    public TimeSpan GapLimit { get; init; } = TimeSpan.FromSeconds(3);

    /// <summary>After a gap longer than this, what runs may be another cycle: the two are not joined.</summary>
    public TimeSpan ShortestCycle { get; init; } = TimeSpan.FromSeconds(60);

    /// <summary>The washer's own limit for a drain step; exceeding it is a drain fault. Null if not known.</summary>
    public TimeSpan? DrainTimeout { get; init; }
}

/// <summary>How signals tell the position in the programme: <see cref="StepTable"/> or <see cref="StepRules"/>.</summary>
public abstract record SequenceRule;

/// <summary>The controller sends a step code (<c>sequence.step</c>).</summary>
/// <param name="Codes">What each code means.</param>
/// <param name="IdleCodes">Codes that mean that no programme runs.</param>
/// <param name="PausedCodes">Codes that mean that the programme is paused where it was; <c>sequence.paused</c> serves too.</param>
/// <param name="FaultCodes">Codes that mean that the programme ended with a fault; <c>sequence.fault</c> serves too.</param>
public sealed record StepTable(
    IReadOnlyDictionary<int, ProgrammePosition> Codes,
    IReadOnlySet<int> IdleCodes,
    IReadOnlySet<int> PausedCodes,
    IReadOnlySet<int> FaultCodes) : SequenceRule;

/// <summary>
/// The controller has no step code: the position follows from valve and pump bits. The first rule whose conditions all hold wins among those
/// that fit; where rules of several phases look alike (every rinse opens the water valve), the one nearest ahead in the programme is taken.
/// </summary>
public sealed record StepRules(IReadOnlyList<StepRule> Rules) : SequenceRule;

/// <summary>When all of <paramref name="When"/> hold, the programme is in a step of this kind in one of <paramref name="Phases"/>.</summary>
/// <param name="Phases">The ids of the phases that look like this, in programme order. Empty: idle.</param>
/// <param name="Step">The step; ignored for idle.</param>
/// <param name="When">Flags by catalogue name (washer scope, or any station's) and the value each must have.</param>
public sealed record StepRule(IReadOnlyList<string> Phases, StepKind Step, IReadOnlyDictionary<string, bool> When);
