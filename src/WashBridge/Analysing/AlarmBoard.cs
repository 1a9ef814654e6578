using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Analysing;

/// <summary>How every alarm stands now, from the changes that the historian keeps.</summary>
internal sealed class AlarmBoard
{
    private readonly SortedDictionary<(string Washer, string Alarm), AlarmChanged> _last = new(Comparer<(string Washer, string Alarm)>.Create(
        (a, b) => string.CompareOrdinal(a.Washer, b.Washer) is not 0 and var byWasher ? byWasher : string.CompareOrdinal(a.Alarm, b.Alarm)));

    /// <summary>The last change of every alarm there ever was, by washer and key.</summary>
    public IEnumerable<AlarmChanged> All => _last.Values;

    /// <summary>What a person should know of: it stands, or is over but nobody has acknowledged it. The most urgent first, then the oldest.</summary>
    public IEnumerable<AlarmChanged> Open => All
        .Where(a => AlarmLifeCycle.Stands(a.To) || a.To == AlarmState.ReturnedUnacknowledged)
        .OrderByDescending(a => AlarmLifeCycle.Stands(a.To)).ThenByDescending(a => a.Priority).ThenBy(a => a.Since ?? a.At.Latest);

    /// <summary>Shelved, suppressed by design, or out of service.</summary>
    public IEnumerable<AlarmChanged> Aside => All.Where(a => a.To is AlarmState.Shelved or AlarmState.SuppressedByDesign or AlarmState.OutOfService);

    public static AlarmBoard Read(IHistorianReader historian, string? washer = null, Instant? until = null)
    {
        var board = new AlarmBoard();
        foreach (var change in historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["alarm-changed"], Until = until }).OfType<AlarmChanged>())
        {
            board.Take(change);
        }

        return board;
    }

    public void Take(AlarmChanged change) => _last[(change.Washer, change.Alarm)] = change;

    public AlarmState? StateOf(string washer, string alarm) => _last.TryGetValue((washer, alarm), out var change) ? change.To : null;

    public IEnumerable<AlarmChanged> OpenAt(string washer) => Open.Where(a => a.Washer == washer);
}
