using WashBridge.Core.Time;

namespace WashBridge.Core.Signals;

public enum FrameKind : byte
{
    /// <summary>Every signal of the group is listed. Sent first, after every reconnect, and as a heartbeat.</summary>
    Full = 1,

    /// <summary>The listed signals changed; all others of the group were read and hold their value (within their dead band).</summary>
    Changes = 2,

    /// <summary>The group could not be read: nothing is known of its signals until the next frame that is not failed.</summary>
    Failed = 3,

    /// <summary>The wall clock jumped, or the service (re)started: see <see cref="Frame.Clock"/>. Carries no samples and belongs to no group.</summary>
    Clock = 4,
}

/// <summary>
/// What one poll (or one notification) of one group of a washer's signals brought: the unit in which the world reaches the historian.
/// A frame without samples is evidence too: it says that nothing had changed when it was read.
/// </summary>
public sealed record Frame
{
    public required string Washer { get; init; }

    /// <summary>The poll group, 0 to 255, as numbered by the configuration. 0 holds the sequence signals.</summary>
    public required int Group { get; init; }

    public required FrameKind Kind { get; init; }

    /// <summary>First request sent to last response received. A failed frame: request sent to failure seen.</summary>
    public required TimeBounds Read { get; init; }

    public IReadOnlyList<Sample> Samples { get; init; } = [];

    /// <summary>Why a frame failed, or where a clock frame comes from; null otherwise.</summary>
    public string? Reason { get; init; }

    /// <summary>Set on clock frames only.</summary>
    public ClockShift? Clock { get; init; }
}
