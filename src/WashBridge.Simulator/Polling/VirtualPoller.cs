using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Simulator.Controller;
using WashBridge.Simulator.Faults;

namespace WashBridge.Simulator.Polling;

/// <summary>
/// Polls a simulated washer in virtual time and gives the frames that a bridge would: late, slow, with gaps, with a clock that is set now and then.
/// One connection, one request at a time, one request a table.
/// </summary>
public sealed class VirtualPoller
{
    private readonly SimulatedWasher _washer;
    private readonly PollerOptions _options;
    private readonly DeterministicRandom _random;
    private readonly List<GroupState> _groups;
    private readonly SignalValue[] _reported;
    private readonly SignalValue[] _read;
    private TimeSpan _free;

    public VirtualPoller(SimulatedWasher washer, PollerOptions options)
    {
        _washer = washer;
        _options = options;
        _random = DeterministicRandom.Stream(options.Seed, "poller");
        _reported = new SignalValue[washer.Map.Count];
        _read = new SignalValue[washer.Map.Count];
        Clock = new BridgeClock(options.Start);
        _groups = [.. options.Groups.Select(g => new GroupState(g, Requests(washer, g.Number)) { Due = options.Begin }).Where(g => g.Requests.Count > 0)];
    }

    public BridgeClock Clock { get; }

    /// <summary>Polls that did not take place because an earlier one took too long, or by chance.</summary>
    public long Overruns { get; private set; }

    /// <summary>For tests: every request's bounds and the virtual time at which the controller took its values.</summary>
    internal event Action<TimeBounds, TimeSpan>? Sampled;

    /// <summary>Everything that comes in until virtual time <paramref name="end"/>. Can be called again for what comes after.</summary>
    public IEnumerable<Frame> PollUntil(TimeSpan end)
    {
        while (true)
        {
            var group = Earliest();
            var due = group.Due > _free ? group.Due : _free;
            if (due > end)
            {
                yield break;
            }

            var start = due + Up(_options.Jitter);
            _washer.AdvanceTo(start);
            if (_washer.Link.BridgeEvents.TryDequeue(out var happened))
            {
                yield return Meet(happened.At, happened.Fault);
                continue;
            }

            if (_random.Chance(_options.LostChance))
            {
                Overruns++;
                group.Due += group.Options.Every;
                continue;
            }

            yield return Poll(group, start);
            Schedule(group);
        }
    }

    private Frame Poll(GroupState group, TimeSpan start)
    {
        var at = start;
        var hasChanged = !group.IsSequence;
        for (var r = 0; r < group.Requests.Count; r++)
        {
            var taken = at + Delay();
            _washer.AdvanceTo(taken);
            var answered = taken + Delay() + _washer.Link.ReplyDelay(taken);
            var up = _washer.Link.IsUp(taken);
            if (!up || answered - at > _options.Timeout || _random.Chance(_options.FailureChance))
            {
                return Fail(group, start, at + _options.Timeout, up ? "no reply within the time-out" : "the connection is lost");
            }

            if (!group.IsSequence || _washer.Signature != group.Signatures[r])
            {
                hasChanged = true;
                group.Signatures[r] = group.IsSequence ? _washer.Signature : default;
                foreach (var index in group.Requests[r])
                {
                    _read[index] = _washer.Read(index);
                }
            }

            var bounds = Clock.Around(at, answered);
            group.Bounds[r] = bounds;
            Sampled?.Invoke(bounds, taken);
            at = answered;
        }

        _free = at;
        var full = group.NeedsFull || start - group.LastFull >= group.Options.Heartbeat;
        if (full)
        {
            group.NeedsFull = false;
            group.LastFull = start;
        }

        return new Frame
        {
            Washer = _washer.Options.Id,
            Group = group.Options.Number,
            Kind = full ? FrameKind.Full : FrameKind.Changes,
            Read = Clock.Around(start, at),
            Samples = full || hasChanged ? Report(group, full) : [],
        };
    }

    private Frame Fail(GroupState group, TimeSpan start, TimeSpan seen, string reason)
    {
        foreach (var other in _groups)
        {
            other.NeedsFull = true;
        }

        _free = seen + _options.ReconnectDelay;
        return new Frame { Washer = _washer.Options.Id, Group = group.Options.Number, Kind = FrameKind.Failed, Read = Clock.Around(start, seen), Reason = reason };
    }

    private IReadOnlyList<Sample> Report(GroupState group, bool full)
    {
        List<Sample>? samples = null;
        for (var r = 0; r < group.Requests.Count; r++)
        {
            foreach (var index in group.Requests[r])
            {
                if (full || Differs(index))
                {
                    _reported[index] = _read[index];
                    (samples ??= new List<Sample>(full ? group.Requests.Sum(q => q.Length) : 4)).Add(new Sample(_washer.Map[index].Signal, _read[index], Quality.Good, group.Bounds[r]));
                }
            }
        }

        return samples is null ? [] : samples;
    }

    private bool Differs(int index)
    {
        var (before, now) = (_reported[index], _read[index]);
        return now.Text is not null ? now.Text != before.Text : Math.Abs(now.Number - before.Number) > _washer.Map[index].DeadBand;
    }

    /// <summary>The wall clock is set, or the bridge restarts.</summary>
    private Frame Meet(TimeSpan at, LinkFault fault)
    {
        TimeSpan? shift;
        var reason = "the wall clock was set";
        var seen = at > _free ? at : _free;
        if (fault is BridgeRestart restart)
        {
            shift = restart.ShiftKnown ? restart.Shift : null;
            reason = "the service started";

            // What was answered was answered before: a bridge that stops in mid-request gets nothing.
            Clock.Step(seen, restart.Shift, restart.ShiftKnown);
            seen += restart.Duration;
            foreach (var group in _groups)
            {
                group.NeedsFull = true;
                group.Due = seen;
            }
        }
        else
        {
            shift = ((ClockStep)fault).Shift;
            Clock.Step(at, shift.Value, known: true);
        }

        _free = seen > _free ? seen : _free;
        return new Frame
        {
            Washer = _washer.Options.Id,
            Group = 0,
            Kind = FrameKind.Clock,
            Read = Clock.Around(_free, _free),
            Reason = reason,
            Clock = new ClockShift(shift),
        };
    }

    private GroupState Earliest()
    {
        var best = _groups[0];
        for (var i = 1; i < _groups.Count; i++)
        {
            best = _groups[i].Due < best.Due ? _groups[i] : best;
        }

        return best;
    }

    /// <summary>The schedule does not drift: a poll that is overdue by whole intervals is not made up for.</summary>
    private void Schedule(GroupState group)
    {
        group.Due += group.Options.Every;
        if (group.Due < _free)
        {
            var missed = (_free - group.Due).Ticks / group.Options.Every.Ticks;
            Overruns += missed;
            group.Due += group.Options.Every * missed;
        }
    }

    private TimeSpan Delay() => _random.Between(_options.DelayMinimum, _options.DelayMaximum);

    private TimeSpan Up(TimeSpan most) => _random.Between(TimeSpan.Zero, most);

    private static List<int[]> Requests(SimulatedWasher washer, int group) =>
        [.. Enumerable.Range(0, washer.Map.Count).Where(i => washer.Map[i].Group == group).GroupBy(i => washer.Map[i].Point.Table).Select(g => g.ToArray())];

    private sealed class GroupState(VirtualPollGroup options, List<int[]> requests)
    {
        public VirtualPollGroup Options { get; } = options;

        public List<int[]> Requests { get; } = requests;

        /// <summary>Reading what cannot have changed is most of the work: see <see cref="SimulatedWasher.Signature"/>.</summary>
        public bool IsSequence { get; } = options.Number == 0;

        /// <summary>As of the last reading, by request; no washer is in the mode of the first.</summary>
        public SequenceSignature[] Signatures { get; } = [.. requests.Select(_ => new SequenceSignature(0, (ControllerMode)(-1), 0, 0, 0))];

        public TimeBounds[] Bounds { get; } = new TimeBounds[requests.Count];

        public TimeSpan Due { get; set; }

        public TimeSpan LastFull { get; set; }

        public bool NeedsFull { get; set; } = true;
    }
}
