using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;

namespace WashBridge.Analysis.Alarms;

/// <summary>
/// The alarms of one washer: takes conditions and orders through the life cycle of IEC 62682 (<see cref="AlarmLifeCycle"/>). It has no clock: time is
/// that of the events it is given, and a delay or a shelving ends with the first event at or after its end. Ids follow from the event that caused a
/// change, so that the same events give the same changes.
/// </summary>
public sealed class AlarmBook
{
    private readonly SortedDictionary<string, AlarmEntry> _alarms = new(StringComparer.Ordinal);
    private string? _newSuppressedBecause;

    /// <summary>The alarm's state, or null if there was never such an alarm.</summary>
    public AlarmState? StateOf(string alarm) => _alarms.TryGetValue(alarm, out var entry) ? entry.State : null;

    /// <summary>Whether the alarm's condition holds, delays included.</summary>
    public bool Holds(string alarm) => _alarms.TryGetValue(alarm, out var entry) && entry.Holds;

    /// <summary>The alarm's priority, or null if there was never such an alarm.</summary>
    public AlarmPriority? PriorityOf(string alarm) => _alarms.TryGetValue(alarm, out var entry) ? entry.Priority : null;

    /// <summary>Keys of all alarms there ever were, in order.</summary>
    public IReadOnlyList<string> Known => [.. _alarms.Keys];

    /// <summary>Keys of the alarms whose condition holds, in order. To be read before anything else is asked of the book.</summary>
    internal IEnumerable<string> Holding => _alarms.Values.Where(a => a.Holds).Select(a => a.Alarm);

    /// <summary>Whether the alarm's condition holds as it was told last, delays left out: what a dead band needs.</summary>
    public bool IsTold(string alarm) => _alarms.TryGetValue(alarm, out var entry) && entry.IsTold;

    /// <summary>Takes how a condition stands now. One that never held is no alarm yet.</summary>
    public IReadOnlyList<WashEvent> Report(WashEvent cause, AlarmReport report)
    {
        ArgumentNullException.ThrowIfNull(cause);
        ArgumentNullException.ThrowIfNull(report);
        var known = _alarms.TryGetValue(report.Alarm, out var entry);
        if (!known && !report.Holds)
        {
            return [];
        }

        entry ??= new AlarmEntry { Alarm = report.Alarm, Priority = report.Priority, Text = report.Text };
        var (before, changes) = (entry, new List<WashEvent>());
        entry = Told(entry, report, cause);
        _alarms[report.Alarm] = entry;
        Turn(cause, entry, changes, isReport: true);
        Follow(cause, before, changes);
        return changes;
    }

    /// <summary>The condition of an alarm is over for good, as after a repair: at once, whatever its delay.</summary>
    public IReadOnlyList<WashEvent> End(WashEvent cause, string alarm) => _alarms.TryGetValue(alarm, out var entry)
        ? Report(cause, new AlarmReport { Alarm = alarm, Holds = false, Priority = entry.Priority, Text = entry.Text, OnDelay = entry.OnDelay, IsMeasured = entry.IsMeasured })
        : [];

    /// <summary>Time has come to that of <paramref name="cause"/>, which ends delays and shelvings.</summary>
    /// <param name="isCycle">With it a cycle ended.</param>
    public IReadOnlyList<WashEvent> Pass(WashEvent cause, bool isCycle)
    {
        ArgumentNullException.ThrowIfNull(cause);
        List<WashEvent>? changes = null;
        foreach (var alarm in Waiting())
        {
            var entry = _alarms[alarm];
            if (isCycle && entry.TurnedAt is not null)
            {
                _alarms[alarm] = entry = entry with { TurnedCycles = entry.TurnedCycles + 1 };
            }

            if (entry.TurnedAt is not null)
            {
                Turn(cause, entry, changes ??= [], isReport: false);
                entry = _alarms[alarm];
            }

            if (entry is { State: AlarmState.Shelved, ShelvedUntil: { } end } && cause.At.Latest >= end)
            {
                Move(cause, entry, AlarmInput.Unshelve, changes ??= [], reason: "shelving has ended");
            }
        }

        return changes ?? [];
    }

    /// <summary>Keys of the alarms for which time alone can change anything.</summary>
    private IReadOnlyList<string> Waiting()
    {
        List<string>? waiting = null;
        foreach (var entry in _alarms.Values)
        {
            if (entry is { TurnedAt: not null } or { State: AlarmState.Shelved })
            {
                (waiting ??= []).Add(entry.Alarm);
            }
        }

        return waiting ?? (IReadOnlyList<string>)[];
    }

    /// <summary>Takes a person's order. One that cannot be followed is told as <see cref="AlarmOrderRefused"/>, with the reason.</summary>
    public IReadOnlyList<WashEvent> Order(AlarmOrdered ordered)
    {
        ArgumentNullException.ThrowIfNull(ordered);
        var order = ordered.Order;
        var problem = AlarmOrders.Problem(order, ordered.At.Earliest) ?? AlarmOrders.Problem(order, StateOf(order.Alarm));
        if (problem is not null)
        {
            return
            [
                new AlarmOrderRefused
                {
                    Id = $"{ordered.Id}/refused",
                    Washer = ordered.Washer,
                    CycleId = ordered.CycleId,
                    At = ordered.At,
                    Order = order,
                    Problem = problem,
                },
            ];
        }

        var entry = _alarms[order.Alarm];
        if (order.Kind == AlarmOrderKind.Shelve)
        {
            _alarms[order.Alarm] = entry = entry with { ShelvedUntil = order.Until };
        }

        var changes = new List<WashEvent>();
        Move(ordered, entry, AlarmOrders.InputOf(order.Kind), changes, order.By, order.Reason.Length > 0 ? order.Reason : null);
        return changes;
    }

    /// <summary>Suppresses one alarm by design, whether it stands or not. Several reasons can hold at once.</summary>
    public IReadOnlyList<WashEvent> Suppress(WashEvent cause, string alarm, string reason)
    {
        ArgumentNullException.ThrowIfNull(cause);
        if (!_alarms.TryGetValue(alarm, out var entry) || entry.Suppressions.Contains(reason))
        {
            return [];
        }

        _alarms[alarm] = entry = entry with { Suppressions = With(entry.Suppressions, reason) };
        var changes = new List<WashEvent>();
        if (entry.State != AlarmState.Normal || entry.Holds)
        {
            Move(cause, entry, AlarmInput.Suppress, changes, reason: reason);
        }

        return changes;
    }

    /// <summary>A reason to suppress an alarm has gone. With the last one the alarm comes back.</summary>
    public IReadOnlyList<WashEvent> EndSuppression(WashEvent cause, string alarm, string reason)
    {
        ArgumentNullException.ThrowIfNull(cause);
        var changes = new List<WashEvent>();
        if (_alarms.TryGetValue(alarm, out var entry))
        {
            Release(cause, entry, reason, changes);
        }

        return changes;
    }

    /// <summary>From now on a measured condition that arises is suppressed by design. What stands already stays as it is: it is as true as before.</summary>
    public void SuppressNew(string reason) => _newSuppressedBecause = reason;

    /// <summary>Ends <see cref="SuppressNew"/>; what still holds comes back.</summary>
    public IReadOnlyList<WashEvent> EndSuppressNew(WashEvent cause)
    {
        ArgumentNullException.ThrowIfNull(cause);
        var changes = new List<WashEvent>();
        if (_newSuppressedBecause is { } reason)
        {
            _newSuppressedBecause = null;
            foreach (var alarm in _alarms.Keys.ToList())
            {
                Release(cause, _alarms[alarm], reason, changes);
            }
        }

        return changes;
    }

    internal AlarmBookState Save() => new([.. _alarms.Values], _newSuppressedBecause);

    internal void Load(AlarmBookState state)
    {
        _alarms.Clear();
        foreach (var entry in state.Alarms)
        {
            _alarms[entry.Alarm] = entry;
        }

        _newSuppressedBecause = state.NewSuppressedBecause;
    }

    private static AlarmEntry Told(AlarmEntry entry, AlarmReport report, WashEvent cause)
    {
        var at = cause.At.Latest;
        var turned = report.Holds != entry.Holds;
        return entry with
        {
            // The words of an alarm that is over are those under which it stood.
            Priority = report.Holds ? report.Priority : entry.Priority,
            Text = report.Holds ? report.Text : entry.Text,
            IsTold = report.Holds,
            Since = report.Holds ? report.Since ?? (entry.IsTold || entry.Holds ? entry.Since : at) : entry.Since,
            TurnedAt = turned ? entry.TurnedAt ?? at : null,
            TurnedCycles = turned ? Math.Max(1, entry.TurnedCycles) : 0,
            OnDelay = report.OnDelay,
            OffDelay = report.OffDelay,
            IsMeasured = report.IsMeasured,
            Suppressions = report.SuppressedBecause is { } reason ? With(entry.Suppressions, reason) : entry.Suppressions,
        };
    }

    /// <summary>
    /// What is told counts once it has lasted long enough. A cycle counts when all that was told with it is in: at once if that is a report of this
    /// condition, else with the next cycle.
    /// </summary>
    private void Turn(WashEvent cause, AlarmEntry entry, List<WashEvent> changes, bool isReport)
    {
        var delay = entry.IsTold ? entry.OnDelay : entry.OffDelay;
        var cycles = isReport ? entry.TurnedCycles : entry.TurnedCycles - 1;
        if (entry.TurnedAt is not { } turned || (delay.Cycles > 1 && cycles < delay.Cycles) || cause.At.Latest - turned < delay.Time)
        {
            return;
        }

        entry = entry with { Holds = entry.IsTold, TurnedAt = null, TurnedCycles = 0, Since = entry.IsTold ? entry.Since : null };
        if (entry is { Holds: true, IsMeasured: true } && _newSuppressedBecause is { } reason && entry.State is AlarmState.Normal or AlarmState.ReturnedUnacknowledged)
        {
            entry = entry with { Suppressions = With(entry.Suppressions, reason) };
        }

        _alarms[entry.Alarm] = entry;
        if (entry is { Holds: true, IsSuppressed: true })
        {
            Move(cause, entry, AlarmInput.Suppress, changes, reason: entry.Suppressions[0]);
        }
        else
        {
            Move(cause, entry, entry.Holds ? AlarmInput.Arises : AlarmInput.Ends, changes);
        }
    }

    /// <summary>What holds on can have become more urgent, or less; the state changes only for the former.</summary>
    private void Follow(WashEvent cause, AlarmEntry before, List<WashEvent> changes)
    {
        var entry = _alarms[before.Alarm];
        if (!before.Holds || !entry.Holds || entry.Priority == before.Priority || changes.Count > 0)
        {
            return;
        }

        if (entry.Priority > before.Priority)
        {
            Move(cause, entry, AlarmInput.Rises, changes);
        }

        if (changes.Count == 0)
        {
            _alarms[entry.Alarm] = entry = InTurn(cause, entry);
            changes.Add(Change(cause, entry, entry.State));
        }
    }

    private void Release(WashEvent cause, AlarmEntry entry, string reason, List<WashEvent> changes)
    {
        if (!entry.Suppressions.Contains(reason))
        {
            return;
        }

        _alarms[entry.Alarm] = entry = entry with { Suppressions = [.. entry.Suppressions.Where(s => s != reason)] };
        if (!entry.IsSuppressed)
        {
            Move(cause, entry, AlarmInput.EndSuppression, changes, reason: $"no longer: {reason}");
        }
    }

    private static IReadOnlyList<string> With(IReadOnlyList<string> reasons, string reason) =>
        reasons.Contains(reason) ? reasons : [.. reasons.Append(reason).Order(StringComparer.Ordinal)];

    private void Move(WashEvent cause, AlarmEntry entry, AlarmInput input, List<WashEvent> changes, string? by = null, string? reason = null)
    {
        foreach (var to in AlarmLifeCycle.Path(entry.State, input, entry.Holds, entry.IsSuppressed))
        {
            var next = InTurn(cause, entry) with { State = to, ShelvedUntil = to == AlarmState.Shelved ? entry.ShelvedUntil : null };
            _alarms[entry.Alarm] = next;
            changes.Add(Change(cause, next, entry.State) with { By = by, Reason = reason });
            entry = next;
        }
    }

    private static AlarmEntry InTurn(WashEvent cause, AlarmEntry entry) => entry with
    {
        ChangedAt = cause.At.Latest,
        Turn = entry.ChangedAt == cause.At.Latest ? (entry.Turn ?? 0) + 1 : null,
    };

    private static AlarmChanged Change(WashEvent cause, AlarmEntry entry, AlarmState from) => new()
    {
        Id = $"{cause.Id}/alarm/{entry.Alarm}/{from}-{entry.State}",
        Washer = cause.Washer,
        CycleId = cause.CycleId,
        At = cause.At,
        Alarm = entry.Alarm,
        From = from,
        To = entry.State,
        Priority = entry.Priority,
        Text = entry.Text,
        Since = entry.Holds ? entry.Since : null,
        Until = entry.ShelvedUntil,
        Turn = entry.Turn,
    };
}
