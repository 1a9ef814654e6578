using WashBridge.Core.Signals;

namespace WashBridge.Historian.Storage;

/// <summary>
/// Gives signals, sources (a washer's poll group) and washers their numbers, for the one writer. New numbers become real with the transaction that
/// stores them: <see cref="Forget"/> takes them back if it fails.
/// </summary>
internal sealed class WriterRegistry
{
    /// <summary>More signal objects than this are taken for copies made anew for every frame.</summary>
    private const int MostReferences = 100_000;

    private readonly Database _database;
    private readonly Dictionary<Signal, int> _bySignal = [];
    private readonly Dictionary<Signal, int> _byReference = new(ReferenceEqualityComparer.Instance);
    private readonly Dictionary<(string Washer, int Group), int> _bySource = [];
    private readonly Dictionary<string, int> _byWasher = [];
    private bool _grew;

    public WriterRegistry(Database database)
    {
        _database = database;
        Load();
    }

    /// <summary>Names and numbers of all washers.</summary>
    public IReadOnlyDictionary<string, int> Washers => _byWasher;

    /// <summary>The last sequence number stored: nothing of a washer that is new up to here can be waiting to be sealed.</summary>
    public long LastSequence { get; set; }

    public int IdOf(Signal signal)
    {
        // Pollers send the same signal objects for ever: comparing references is several times faster than hashing four strings.
        if (_byReference.TryGetValue(signal, out var id))
        {
            return id;
        }

        if (!_bySignal.TryGetValue(signal, out id))
        {
            id = Insert(_bySignal, signal, () => _database.Prepare("INSERT INTO signals(id, washer, station, name, unit, type) VALUES(?, ?, ?, ?, ?, ?)").Bind(1, _bySignal.Count + 1)
                .Bind(2, signal.Washer).Bind(3, signal.Station).Bind(4, signal.Name).Bind(5, signal.Unit).Bind(6, (long)signal.Type));
        }

        if (_byReference.Count >= MostReferences)
        {
            _byReference.Clear();
        }

        _byReference.Add(signal, id);
        return id;
    }

    public int IdOf(string washer, int group) => _bySource.TryGetValue((washer, group), out var id)
        ? id
        : Insert(_bySource, (washer, group), () => _database.Prepare("INSERT INTO sources VALUES(?, ?, ?)").Bind(1, _bySource.Count + 1).Bind(2, IdOf(washer)).Bind(3, group));

    public int IdOf(string washer) => _byWasher.TryGetValue(washer, out var id)
        ? id
        : Insert(_byWasher, washer, () => _database.Prepare("INSERT INTO washers VALUES(?, ?, ?)").Bind(1, _byWasher.Count + 1).Bind(2, washer).Bind(3, LastSequence));

    /// <summary>The transaction was stored.</summary>
    public void Keep() => _grew = false;

    /// <summary>The transaction was rolled back.</summary>
    public void Forget()
    {
        if (_grew)
        {
            Load();
        }
    }

    private int Insert<T>(Dictionary<T, int> ids, T key, Func<Statement> insertion)
        where T : notnull
    {
        _grew = true;
        insertion().Run();
        ids.Add(key, ids.Count + 1);
        return ids.Count;
    }

    private void Load()
    {
        _grew = false;
        _bySignal.Clear();
        _byReference.Clear();
        _bySource.Clear();
        _byWasher.Clear();
        var washers = _database.Prepare("SELECT id, name FROM washers");
        while (washers.Step())
        {
            _byWasher.Add(washers.Text(1), washers.Int(0));
        }

        var sources = _database.Prepare("SELECT s.id, w.name, s.grp FROM sources s JOIN washers w ON w.id = s.washer");
        while (sources.Step())
        {
            _bySource.Add((sources.Text(1), sources.Int(2)), sources.Int(0));
        }

        var signals = _database.Prepare("SELECT id, washer, station, name, unit, type FROM signals");
        while (signals.Step())
        {
            _bySignal.Add(NameTable.SignalAt(signals), signals.Int(0));
        }
    }
}
