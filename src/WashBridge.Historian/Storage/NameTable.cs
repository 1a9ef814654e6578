using System.Collections.Concurrent;
using WashBridge.Core.Signals;
using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Storage;

/// <summary>A washer's poll group.</summary>
internal sealed record Source(int Id, int WasherId, string Washer, int Group);

/// <summary>What the numbers in stored data stand for; looked up when first met, and kept. Safe for several threads.</summary>
internal sealed class NameTable
{
    private const string SignalColumns = "SELECT id, washer, station, name, unit, type FROM signals";
    private const string SourceColumns = "SELECT s.id, s.washer, w.name, s.grp FROM sources s JOIN washers w ON w.id = s.washer";

    private readonly ConcurrentDictionary<int, Signal> _signals = [];
    private readonly ConcurrentDictionary<Signal, int> _signalIds = [];
    private readonly ConcurrentDictionary<int, Source> _sources = [];
    private readonly ConcurrentDictionary<string, int> _washerIds = [];

    public Signal Signal(Database database, int id)
    {
        if (!_signals.TryGetValue(id, out var signal))
        {
            signal = One(database.Prepare($"{SignalColumns} WHERE id = ?").Bind(1, id), SignalAt) ?? throw new DamagedException($"signal {id} is not known");
            signal = _signals.GetOrAdd(id, signal);
        }

        return signal;
    }

    public Source Source(Database database, int id)
    {
        if (!_sources.TryGetValue(id, out var source))
        {
            source = One(database.Prepare($"{SourceColumns} WHERE s.id = ?").Bind(1, id), SourceAt) ?? throw new DamagedException($"source {id} is not known");
            _sources[id] = source;
        }

        return source;
    }

    /// <summary>The signal's number, or null if the file has never seen it.</summary>
    public int? IdOf(Database database, Signal signal)
    {
        if (_signalIds.TryGetValue(signal, out var id))
        {
            return id;
        }

        id = (int)database.Prepare("SELECT id FROM signals WHERE washer = ? AND station = ? AND name = ? AND unit = ? AND type = ?")
            .Bind(1, signal.Washer).Bind(2, signal.Station).Bind(3, signal.Name).Bind(4, signal.Unit).Bind(5, (long)signal.Type).Scalar();
        if (id != 0)
        {
            _signalIds[signal] = id;
        }

        return id == 0 ? null : id;
    }

    public int? WasherId(Database database, string washer)
    {
        if (_washerIds.TryGetValue(washer, out var id))
        {
            return id;
        }

        id = (int)database.Prepare("SELECT id FROM washers WHERE name = ?").Bind(1, washer).Scalar();
        if (id != 0)
        {
            _washerIds[washer] = id;
        }

        return id == 0 ? null : id;
    }

    /// <summary>The number of a poll group that is known to be stored.</summary>
    public int SourceId(Database database, string washer, int group) =>
        One(database.Prepare($"{SourceColumns} WHERE w.name = ? AND s.grp = ?").Bind(1, washer).Bind(2, group), SourceAt)?.Id
            ?? throw new DamagedException($"group {group} of washer '{washer}' is not known");

    public static IReadOnlyList<Signal> All(Database database)
    {
        var signals = new List<Signal>();
        var rows = database.Prepare($"{SignalColumns} ORDER BY id");
        while (rows.Step())
        {
            signals.Add(SignalAt(rows));
        }

        return signals;
    }

    public static Signal SignalAt(Statement row) => new(row.Text(1), row.Int(2), row.Text(3), row.Text(4), (SignalType)row.Int(5));

    private static Source SourceAt(Statement row) => new(row.Int(0), row.Int(1), row.Text(2), row.Int(3));

    private static T? One<T>(Statement rows, Func<Statement, T> at)
        where T : class
    {
        var found = rows.Step() ? at(rows) : null;
        rows.Reset();
        return found;
    }
}
