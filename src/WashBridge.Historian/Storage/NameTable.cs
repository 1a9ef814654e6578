using WashBridge.Core.Signals;

namespace WashBridge.Historian.Storage;

/// <summary>A washer's poll group.</summary>
internal sealed record Source(int Id, int WasherId, string Washer, int Group);

/// <summary>What the numbers in stored data stand for. Grows as the file does; safe for several threads.</summary>
internal sealed class NameTable
{
    private readonly Lock _lock = new();
    private volatile Signal?[] _signals = [];
    private volatile Source?[] _sources = [];
    private volatile Dictionary<Signal, int> _ids = [];
    private volatile Dictionary<string, int> _washers = [];

    public Signal Signal(Database database, int id) => Find(database, () => _signals, id) ?? throw new Encoding.DamagedException($"signal {id} is not known");

    public Source Source(Database database, int id) => Find(database, () => _sources, id) ?? throw new Encoding.DamagedException($"source {id} is not known");

    /// <summary>The signal's number, or null if the file has never seen it.</summary>
    public int? IdOf(Database database, Signal signal)
    {
        if (!_ids.TryGetValue(signal, out var id))
        {
            Load(database);
            return _ids.TryGetValue(signal, out id) ? id : null;
        }

        return id;
    }

    public int? WasherId(Database database, string washer)
    {
        if (!_washers.TryGetValue(washer, out var id))
        {
            Load(database);
            return _washers.TryGetValue(washer, out id) ? id : null;
        }

        return id;
    }

    /// <summary>The number of a poll group that is known to be stored.</summary>
    public int SourceId(Database database, string washer, int group)
    {
        if (Array.Find(_sources, s => s is not null && s.Group == group && s.Washer == washer) is { } found)
        {
            return found.Id;
        }

        Load(database);
        return Array.Find(_sources, s => s is not null && s.Group == group && s.Washer == washer)?.Id ?? throw new Encoding.DamagedException($"group {group} of washer '{washer}' is not known");
    }

    public IReadOnlyList<Signal> All(Database database)
    {
        Load(database);
        return [.. _signals.OfType<Signal>()];
    }

    public static Signal SignalAt(Statement row) => new(row.Text(1), row.Int(2), row.Text(3), row.Text(4), (SignalType)row.Int(5));

    private T? Find<T>(Database database, Func<T?[]> table, int id)
        where T : class
    {
        var known = table();
        if ((uint)id < (uint)known.Length && known[id] is { } found)
        {
            return found;
        }

        Load(database);
        known = table();
        return (uint)id < (uint)known.Length ? known[id] : null;
    }

    private void Load(Database database)
    {
        lock (_lock)
        {
            var signals = new List<Signal?>(_signals);
            var ids = new Dictionary<Signal, int>(_ids);
            var signalRows = database.Prepare("SELECT id, washer, station, name, unit, type FROM signals WHERE id >= ? ORDER BY id").Bind(1, Math.Max(1, signals.Count));
            while (signalRows.Step())
            {
                Put(signals, signalRows.Int(0), SignalAt(signalRows));
                ids[signals[^1]!] = signalRows.Int(0);
            }

            var sources = new List<Source?>(_sources);
            var sourceRows = database.Prepare("SELECT s.id, s.washer, w.name, s.grp FROM sources s JOIN washers w ON w.id = s.washer WHERE s.id >= ? ORDER BY s.id").Bind(1, Math.Max(1, sources.Count));
            while (sourceRows.Step())
            {
                Put(sources, sourceRows.Int(0), new Source(sourceRows.Int(0), sourceRows.Int(1), sourceRows.Text(2), sourceRows.Int(3)));
            }

            var washers = new Dictionary<string, int>(_washers);
            var washerRows = database.Prepare("SELECT id, name FROM washers");
            while (washerRows.Step())
            {
                washers[washerRows.Text(1)] = washerRows.Int(0);
            }

            (_signals, _sources, _ids, _washers) = ([.. signals], [.. sources], ids, washers);
        }
    }

    private static void Put<T>(List<T?> table, int id, T value)
        where T : class
    {
        while (table.Count <= id)
        {
            table.Add(null);
        }

        table[id] = value;
    }
}
