namespace WashBridge.Core.Cycles.Segmenting;

internal enum ReadingKind
{
    /// <summary>The signals tell no position: not read, of bad quality, a code or a combination without a meaning.</summary>
    Unknown = 0,

    /// <summary>No programme runs.</summary>
    Idle = 1,

    /// <summary>Paused where it was, which is not told.</summary>
    Hidden = 2,

    Step = 3,

    /// <summary>A step of one of several phases; after a gap nothing tells which.</summary>
    Unplaced = 4,
}

/// <summary>What the sequence signals say.</summary>
/// <param name="Kind">What is known.</param>
/// <param name="Phase">Index of the phase, for steps.</param>
/// <param name="Step">For steps.</param>
/// <param name="Pass">For steps, where the controller tells it.</param>
/// <param name="Paused">The programme is held.</param>
/// <param name="Fault">The controller shows a fault.</param>
internal readonly record struct Reading(ReadingKind Kind, int Phase = -1, StepKind Step = default, int? Pass = null, bool Paused = false, bool Fault = false);
