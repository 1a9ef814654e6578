using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>Takes the samples of a good frame into the state, sends changes where they belong, and lets the fold advance.</summary>
internal sealed class FrameReader
{
    private readonly SegmenterState _state;
    private readonly EventLog _events;
    private readonly SequenceReader _sequence;
    private readonly CycleFold _fold;
    private readonly DrainSensors _drains;
    private readonly Kegs _kegs;
    private readonly Dictionary<(int Station, string Name), Tracked> _tracked = [];
    private readonly int _sequenceSignals;
    private readonly List<Tracked> _kegChanges = [];

    // Of the frame at hand.
    private int _listed;
    private Moment _listedEarliest;
    private Moment? _changedLatest;

    /// <summary>What is read while nobody knows the position may belong to another cycle already.</summary>
    private bool _isWatched;

    public FrameReader(WasherModel model, SegmenterState state, EventLog events)
    {
        var order = new ProgrammeOrder(model.Programme);
        var needed = SequenceReader.NamesNeeded(model);
        foreach (var signal in model.Signals.Where(s => RoleOf(s, needed) != Role.None))
        {
            var kept = state.Signals.Find(s => s.Station == signal.Station && s.Name == signal.Name);
            if (kept is null)
            {
                kept = new SignalState { Station = signal.Station, Name = signal.Name };
                state.Signals.Add(kept);
            }

            _tracked.TryAdd((signal.Station, signal.Name), new Tracked(kept, RoleOf(signal, needed), signal.Unit));
        }

        // A snapshot of an older tag map may hold signals that are no more.
        state.Signals.RemoveAll(s => !_tracked.ContainsKey((s.Station, s.Name)));
        _state = state;
        _events = events;
        _sequenceSignals = _tracked.Values.Count(t => t.Role == Role.Sequence);
        _sequence = new SequenceReader(model, order, state.Signals);
        _drains = new DrainSensors(model, state);
        _kegs = new Kegs(model, state);
        _fold = new CycleFold(model, order, state, new CycleWriter(model, order, state, events, _drains, _kegs));
    }

    private enum Role
    {
        None = 0,
        Sequence = 1,
        Drain = 2,
        Keg = 3,
        Setpoint = 4,
        Count = 5,
        Programme = 6,
    }

    public bool IsWatched(Moment now) => _fold.IsWatched(now);

    /// <summary>When the position was told at the earliest, given that <paramref name="group"/> was read from <paramref name="earliest"/> on.</summary>
    public Moment SequenceEarliest(GroupState group, Moment earliest)
    {
        foreach (var other in _state.Groups)
        {
            if (other.IsSequence && other != group)
            {
                earliest = other.ReadEarliest.Epoch != earliest.Epoch || other.ReadEarliest.Steady < earliest.Steady ? other.ReadEarliest : earliest;
            }
        }

        return earliest;
    }

    public void Read(Frame frame, GroupState group, Moment earliest, Moment latest)
    {
        Restore(group, latest);
        _listed = 0;
        _changedLatest = null;
        _kegChanges.Clear();
        _isWatched = _fold.IsWatched(latest);
        var samples = frame.Samples;
        for (var i = 0; i < samples.Count; i++)
        {
            Take(samples[i], group);
        }

        if (group.IsLookDue && _isWatched)
        {
            _drains.Look(group, earliest, latest);
        }

        if (group.IsSequence && IsSequenceReadable())
        {
            var seen = _listed == _sequenceSignals ? _listedEarliest : earliest;
            var now = _changedLatest ?? latest;
            var reading = _sequence.Read(_fold.At, _fold.IsWatched(now));
            _fold.Advance(new Sight(reading, SequenceEarliest(group, seen), now));
            ConfirmDrains(group);
        }

        if (_fold.IsWatched(latest))
        {
            foreach (var keg in _kegChanges)
            {
                _kegs.Take(keg.State);
            }
        }

        group.WasRead = true;
        group.Ordinal++;
        group.ReadEarliest = earliest;
        group.ReadLatest = latest;
    }

    /// <summary>To be called when the position was just seen, before the group's times are those of the frame at hand.</summary>
    public void ConfirmDrains(GroupState group)
    {
        if (_state is { IsPositionKnown: true, IsHidden: false, Cycle.Step.Drains.Count: > 0 })
        {
            _drains.Confirm(group);
        }
    }

    private void Restore(GroupState group, Moment latest)
    {
        group.IsReadable = true;
        if (group.IsLost)
        {
            group.IsLost = false;
            _events.SourceRestored(_state.Cycle?.Id, group.Number, new Edge(group.FailedEarliest, latest), EventLog.At(new Edge(group.LostFrom, latest)));
        }
    }

    private bool IsSequenceReadable()
    {
        foreach (var group in _state.Groups)
        {
            if (group is { IsSequence: true, IsReadable: false })
            {
                return false;
            }
        }

        return true;
    }

    private void Take(in Sample sample, GroupState group)
    {
        var name = sample.Signal.Name;
        if ((sample.Signal.Type == SignalType.Quantity && name[0] != 's') || !_tracked.TryGetValue((sample.Signal.Station, name), out var tracked))
        {
            return;
        }

        var signal = tracked.State;
        signal.Group = group.Number;
        group.IsSequence |= tracked.Role == Role.Sequence;
        var at = new Edge(_state.Timeline.Place(sample.At.Earliest), _state.Timeline.Place(sample.At.Latest));
        if (tracked.Role == Role.Sequence)
        {
            _listedEarliest = _listed++ == 0 || at.Earliest.Steady < _listedEarliest.Steady ? at.Earliest : _listedEarliest;
        }

        double? number = double.IsNaN(sample.Value.Number) ? null : sample.Value.Number;
        var isGood = sample.Quality == Quality.Good && (number is not null || sample.Value.Text is not null);
        var lastSeen = _state.LastSeenEarliest(signal);
        if (!isGood)
        {
            if (signal.IsGood)
            {
                signal.SeenEarliest = lastSeen;
                signal.Ordinal = -1;
                signal.IsGood = false;
                Changed(tracked, at.Latest);
            }

            return;
        }

        var before = signal.HasValue ? signal.Number : null;
        var isNew = !signal.HasValue;
        var isOther = isNew || signal.Number != number || signal.Text != sample.Value.Text;
        var isBack = !signal.IsGood;
        signal.HasValue = true;
        signal.IsGood = true;
        signal.Number = number;
        signal.Text = sample.Value.Text;
        signal.SeenEarliest = at.Earliest;
        signal.SeenLatest = at.Latest;
        signal.Ordinal = group.Ordinal + 1;
        if (isOther || isBack)
        {
            signal.Since = at.Earliest;
            Changed(tracked, at.Latest);
        }

        if (isOther)
        {
            Moved(tracked, group, before, isNew ? null : new Edge(lastSeen, at.Latest));
        }
    }

    /// <summary>What a signal tells has changed, be it its value or whether it can be trusted.</summary>
    private void Changed(Tracked tracked, Moment latest)
    {
        if (tracked.Role == Role.Sequence)
        {
            _changedLatest = _changedLatest is { } known && known.Steady > latest.Steady ? known : latest;
        }
    }

    /// <param name="tracked">Has a new good value.</param>
    /// <param name="group">In which it is read.</param>
    /// <param name="before">The good value before.</param>
    /// <param name="edge">Null: the first value ever read.</param>
    private void Moved(Tracked tracked, GroupState group, double? before, Edge? edge)
    {
        switch (tracked.Role)
        {
            case Role.Drain:
                if (edge is { } change)
                {
                    if (!_isWatched)
                    {
                        break;
                    }

                    _drains.Change(tracked.State, change);
                }
                else
                {
                    group.IsLookDue = true;
                }

                break;
            case Role.Keg:
                _kegChanges.Add(tracked);
                break;
            case Role.Setpoint:
                if (edge is { } set && before is { } old && tracked.State.Number is { } value)
                {
                    _events.SetpointChanged(_state.Cycle?.Id, tracked.State.Name, tracked.Unit, old, value, set);
                }

                break;
            case Role.Count:
                // A count from before the start says nothing about what came after it.
                _state.CountMoved |= edge is { } moved && _state.Cycle is { } running
                    && moved.Earliest.Epoch == running.Start.Latest.Epoch && moved.Earliest.Steady >= running.Start.Latest.Steady;
                break;
            case Role.Programme:
                _state.ProgrammeMoved |= edge is not null;
                break;
            default:
                break;
        }

        if (_state.Cycle is { } cycle && edge is null && tracked.Role is Role.Setpoint or Role.Count or Role.Programme)
        {
            Facts.Take(tracked.State, cycle);
        }
    }

    private static Role RoleOf(Signal signal, IReadOnlySet<string> needed) => signal.Name switch
    {
        _ when needed.Contains(signal.Name) => Role.Sequence,
        DrainSensors.Name => Role.Drain,
        Kegs.PresentName or Kegs.IdName => Role.Keg,
        Facts.CountName => Role.Count,
        Facts.ProgrammeName => Role.Programme,
        _ when signal.Name.StartsWith(Facts.SetpointPrefix, StringComparison.Ordinal) => Role.Setpoint,
        _ => Role.None,
    };

    private sealed record Tracked(SignalState State, Role Role, string Unit);
}
