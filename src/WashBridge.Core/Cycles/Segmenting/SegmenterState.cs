using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>Everything the segmenter remembers: what a snapshot holds.</summary>
internal sealed class SegmenterState
{
    public string Washer { get; set; } = "";

    public Timeline Timeline { get; set; }

    public List<GroupState> Groups { get; set; } = [];

    public List<SignalState> Signals { get; set; } = [];

    public Watching Watching { get; set; }

    /// <summary>No position that the controller showed before this can have been missed; meaningless while nothing was ever seen.</summary>
    public Moment LastSeen { get; set; }

    /// <summary>The controller says that it is paused, but not where: the next step can have begun just before.</summary>
    public bool IsHidden { get; set; }

    /// <summary>As <see cref="LastSeen"/>, but for the step itself; differs while <see cref="IsHidden"/>.</summary>
    public Moment PlaceSeen { get; set; }

    /// <summary>The last frame that could be read told the position: a frame without changes tells it again.</summary>
    public bool IsPositionKnown { get; set; }

    /// <summary>The fault flag as last seen: one that was set already does not end a later cycle.</summary>
    public bool LastFault { get; set; }

    /// <summary>The cycle counter moved since the position was last known.</summary>
    public bool CountMoved { get; set; }

    /// <summary>Another programme was chosen since the position was last known.</summary>
    public bool ProgrammeMoved { get; set; }

    public OpenCycle? Cycle { get; set; }

    /// <summary>A read of the position failed since it was last seen.</summary>
    public bool HasFailed { get; set; }

    /// <summary>The first idle after the position was lost in mid-cycle, until it has stood for long enough to be believed.</summary>
    public Sight? IdleInDoubt { get; set; }

    /// <summary>Something ran after that idle that could not be placed: it did not stand.</summary>
    public bool IsIdleBroken { get; set; }

    /// <summary>When that idle was last seen, at the earliest.</summary>
    public Moment IdleSeen { get; set; }

    /// <summary>Since when steps run that cannot be placed, while no cycle is open; null if none do.</summary>
    public Edge? UnplacedSince { get; set; }

    /// <summary>When such a step was last seen, at the earliest.</summary>
    public Moment UnplacedSeen { get; set; }

    public void See(Moment earliest, bool hidden)
    {
        LastSeen = earliest;
        HasFailed = false;
        IsHidden = hidden;
        PlaceSeen = hidden ? PlaceSeen : earliest;
    }

    /// <summary>An edge of the step rather than of the pause that hides it: it was last seen before the pause.</summary>
    public Edge OfStep(Edge edge) => IsHidden ? edge with { Earliest = PlaceSeen } : edge;

    /// <summary>The group in which a signal is read; null until it was.</summary>
    public GroupState? GroupOf(SignalState signal)
    {
        foreach (var group in Groups)
        {
            if (group.Number == signal.Group)
            {
                return group;
            }
        }

        return null;
    }

    /// <summary>When the signal was last seen with its value, at the earliest, before the frame at hand.</summary>
    public Moment LastSeenEarliest(SignalState signal) =>
        signal.Ordinal < 0 || GroupOf(signal) is not { } group || signal.Ordinal == group.Ordinal ? signal.SeenEarliest : group.ReadEarliest;

    public SignalState? Find(string name)
    {
        foreach (var signal in Signals)
        {
            if (signal.Station == 0 && signal.Name == name)
            {
                return signal;
            }
        }

        return null;
    }
}

/// <summary>What the last reading of the sequence showed.</summary>
internal enum Watching
{
    /// <summary>Nothing was ever read.</summary>
    Nothing = 0,

    Idle = 1,

    /// <summary>A fault ended the cycle, and the controller may still show the step in which it did.</summary>
    Stopped = 2,

    /// <summary><see cref="SegmenterState.Cycle"/> runs.</summary>
    Cycle = 3,
}

/// <summary>A poll group.</summary>
internal sealed class GroupState
{
    public int Number { get; set; }

    /// <summary>It holds signals that tell the position.</summary>
    public bool IsSequence { get; set; }

    /// <summary>The last frame did not fail.</summary>
    public bool IsReadable { get; set; }

    /// <summary>The loss has been reported.</summary>
    public bool IsLost { get; set; }

    public bool WasRead { get; set; }

    /// <summary>A drain waits for the first look at a sensor of this group.</summary>
    public bool IsLookDue { get; set; }

    /// <summary>Counts the good frames with samples, so that a signal knows whether it was listed in the last.</summary>
    public long Ordinal { get; set; }

    /// <summary>The last good read.</summary>
    public Moment ReadEarliest { get; set; }

    public Moment ReadLatest { get; set; }

    /// <summary>When the loss began: the last good read, or the first failed one if there was none.</summary>
    public Moment LostFrom { get; set; }

    public Moment FailedEarliest { get; set; }
}

/// <summary>A signal that the segmenter needs.</summary>
internal sealed class SignalState
{
    public int Station { get; set; }

    public string Name { get; set; } = "";

    /// <summary>-1 until it was read.</summary>
    public int Group { get; set; } = -1;

    /// <summary>A good value was read at some time.</summary>
    public bool HasValue { get; set; }

    /// <summary>The value still holds by the last frame of its group that could be read.</summary>
    public bool IsGood { get; set; }

    public double? Number { get; set; }

    public string? Text { get; set; }

    /// <summary>When its value was last listed good, at the earliest.</summary>
    public Moment SeenEarliest { get; set; }

    public Moment SeenLatest { get; set; }

    /// <summary>When it was first read with its value, at the earliest; a time of bad quality begins it anew.</summary>
    public Moment Since { get; set; }

    /// <summary>The group's ordinal when it was last listed; -1: <see cref="SeenEarliest"/> stands, whatever the group reads.</summary>
    public long Ordinal { get; set; }

    [JsonIgnore]
    public bool IsSet => Number is { } number && number != 0;
}

internal sealed class OpenCycle
{
    public string Id { get; set; } = "";

    public Edge Start { get; set; }

    public bool StartUnseen { get; set; }

    public int? Programme { get; set; }

    public long? CycleCount { get; set; }

    public SortedDictionary<string, double> Setpoints { get; set; } = new(StringComparer.Ordinal);

    public List<FinishedStep> Steps { get; set; } = [];

    public List<OpenStation> Stations { get; set; } = [];

    public List<TimeBounds> Gaps { get; set; } = [];

    public List<Pause> Pauses { get; set; } = [];

    public OpenStep Step { get; set; } = new();

    public OpenPause? Pause { get; set; }
}

internal sealed class FinishedStep
{
    public string Phase { get; set; } = "";

    public PhaseKind PhaseKind { get; set; }

    public int Pass { get; set; }

    public required StepRecord Step { get; set; }
}

internal sealed class OpenStation
{
    public int Station { get; set; }

    public bool? KegPresent { get; set; }

    public string? KegTag { get; set; }

    public List<DrainRecord> Drains { get; set; } = [];
}

/// <summary>The step that runs.</summary>
internal sealed class OpenStep
{
    public string Phase { get; set; } = "";

    public PhaseKind PhaseKind { get; set; }

    public int Pass { get; set; }

    public StepKind Kind { get; set; }

    /// <summary>Its place in the phase's steps.</summary>
    public int Index { get; set; }

    public Edge Start { get; set; }

    /// <summary>Since when it has been watched running, at the latest; null while paused.</summary>
    public Moment? RunningSince { get; set; }

    /// <summary>The longest stretch watched so far, that which runs not included.</summary>
    public TimeSpan Longest { get; set; }

    /// <summary>How long it was watched being paused.</summary>
    public TimeSpan Paused { get; set; }

    public List<DrainWatch> Drains { get; set; } = [];
}

internal sealed class OpenPause
{
    public Edge Start { get; set; }

    public Moment WatchedSince { get; set; }

    public TimeSpan Longest { get; set; }
}

/// <summary>One drain sensor during one drain step.</summary>
internal sealed class DrainWatch
{
    /// <summary>0: the shared one.</summary>
    public int Station { get; set; }

    /// <summary>It was read within the step.</summary>
    public bool WasLooked { get; set; }

    /// <summary>When it can first have turned dry, at the earliest; null until it was read dry.</summary>
    public Moment? FirstDry { get; set; }

    /// <summary>When it was first read dry since it was last wet; null while wet.</summary>
    public Moment? DrySince { get; set; }

    /// <summary><see cref="DrySince"/> when the step was last seen to run.</summary>
    public Moment? SureDrySince { get; set; }

    /// <summary>When it was first read dry after the step was last seen to run.</summary>
    public Moment? NextDry { get; set; }

    /// <summary>When it was last wet while the step surely ran, at the earliest.</summary>
    public Moment? WetSeen { get; set; }
}
