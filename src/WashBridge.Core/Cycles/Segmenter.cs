using System.Text.Json;
using WashBridge.Core.Cycles.Segmenting;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles;

/// <summary>
/// Folds the frames of one washer, in the order of the log, into events: cycles, steps, drains and pauses with bounds on every edge, changed
/// setpoints, lost and restored sources, clock steps. It has no clock and does no I/O: the same frames give the same events with the same ids,
/// and so does stopping anywhere and going on from a <see cref="Snapshot"/>. Not safe for use by several threads at once.
/// </summary>
/// <remarks>
/// An edge lies between the last good read that showed the old value and the first that showed the new one. Durations are taken on the steady
/// time line; see SEGMENTING.md beside this file for every rule and its reason.
/// </remarks>
public sealed class Segmenter
{
    private readonly WasherModel _model;
    private readonly SegmenterState _state;
    private readonly EventLog _events;
    private readonly FrameReader _reader;
    private readonly GroupState?[] _groups = new GroupState?[256];

    public Segmenter(WasherModel model)
        : this(model, new SegmenterState { Washer = (model ?? throw new ArgumentNullException(nameof(model))).Washer })
    {
    }

    private Segmenter(WasherModel model, SegmenterState state)
    {
        _model = model;
        _state = state;
        _events = new EventLog(model.Washer);
        _reader = new FrameReader(model, state, _events);
        foreach (var group in state.Groups)
        {
            _groups[group.Number] = group;
        }
    }

    /// <summary>Goes on from a snapshot. The model may have changed meanwhile: a cycle whose phase is no more in the programme ends unseen.</summary>
    /// <exception cref="JsonException"><paramref name="snapshot"/> is no snapshot, or one of another washer.</exception>
    public static Segmenter Restore(WasherModel model, string snapshot)
    {
        ArgumentNullException.ThrowIfNull(model);
        var state = SnapshotJson.Read(snapshot);
        return state.Washer == model.Washer
            ? new Segmenter(model, state)
            : throw new JsonException($"the snapshot is of washer '{state.Washer}', not of '{model.Washer}'");
    }

    /// <summary>All that is remembered, as JSON.</summary>
    public string Snapshot() => SnapshotJson.Write(_state);

    /// <summary>Takes the next frame. What happened by it comes back in order; mostly nothing.</summary>
    /// <exception cref="ArgumentException">The frame is of another washer, or its group is not 0 to 255.</exception>
    public IReadOnlyList<WashEvent> Accept(Frame frame)
    {
        ArgumentNullException.ThrowIfNull(frame);
        if (!ReferenceEquals(frame.Washer, _model.Washer) && frame.Washer != _model.Washer)
        {
            throw new ArgumentException($"a frame of washer '{frame.Washer}' came to the segmenter of '{_model.Washer}'", nameof(frame));
        }

        if (frame.Kind == FrameKind.Clock)
        {
            StepClock(frame.Clock?.Shift, frame.Read, frame.Reason);
            return _events.Take();
        }

        var group = GroupOf(frame);
        var earliest = _state.Timeline.Place(frame.Read.Earliest);
        var latest = _state.Timeline.Place(frame.Read.Latest);
        if (frame.Kind == FrameKind.Failed)
        {
            Lose(group, earliest, latest, frame.Reason);
            return _events.Take();
        }

        if (frame.Samples.Count == 0 && HoldsStill(group, earliest, latest))
        {
            return [];
        }

        if (group.WasRead && latest.Epoch == group.ReadEarliest.Epoch && latest.Steady < group.ReadEarliest.Steady)
        {
            // Reads of a group follow one another: the clock was set back and nobody told.
            StepClock(null, frame.Read, "time ran backwards between two reads");
            earliest = _state.Timeline.Place(frame.Read.Earliest);
            latest = _state.Timeline.Place(frame.Read.Latest);
        }

        _reader.Read(frame, group, earliest, latest);
        return _events.Take();
    }

    /// <summary>The common case, kept short: nothing changed, nothing was missed, nobody waits for a look.</summary>
    private bool HoldsStill(GroupState group, Moment earliest, Moment latest)
    {
        if (!group.IsReadable || group.IsLookDue || latest.Epoch != group.ReadEarliest.Epoch || latest.Steady < group.ReadEarliest.Steady)
        {
            return false;
        }

        if (group.IsSequence)
        {
            if ((_state.IsPositionKnown && !_reader.IsWatched(latest)) || _state.IdleInDoubt is not null)
            {
                return false;
            }

            if (_state.IsPositionKnown)
            {
                _state.See(_reader.SequenceEarliest(group, earliest), _state.IsHidden);
                _reader.ConfirmDrains(group);
            }
        }

        group.ReadEarliest = earliest;
        group.ReadLatest = latest;
        group.Ordinal++;
        return true;
    }

    private void Lose(GroupState group, Moment earliest, Moment latest, string? reason)
    {
        group.IsReadable = false;
        group.FailedEarliest = earliest;
        _state.IsPositionKnown &= !group.IsSequence;
        _state.HasFailed |= group.IsSequence;
        if (group.IsLost)
        {
            return;
        }

        group.IsLost = true;
        group.LostFrom = group.WasRead ? group.ReadEarliest : earliest;
        _events.SourceLost(_state.Cycle?.Id, group.Number, reason ?? "no reason given", new Edge(group.LostFrom, latest));
    }

    private void StepClock(TimeSpan? shift, TimeBounds read, string? reason)
    {
        _state.Timeline = _state.Timeline.After(new ClockShift(shift));
        _events.ClockStepped(_state.Cycle?.Id, read, shift, reason ?? "no reason given");
    }

    private GroupState GroupOf(Frame frame)
    {
        if ((uint)frame.Group >= _groups.Length)
        {
            throw new ArgumentException($"group {frame.Group} is not 0 to 255", nameof(frame));
        }

        if (_groups[frame.Group] is not { } group)
        {
            group = new GroupState { Number = frame.Group };
            _groups[frame.Group] = group;
            _state.Groups.Add(group);
        }

        return group;
    }
}
