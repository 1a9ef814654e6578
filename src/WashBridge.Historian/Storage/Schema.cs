using System.Globalization;

namespace WashBridge.Historian.Storage;

/// <summary>
/// The tables, version by version; FORMAT.md explains them. A new file is made by running every step, so a migrated file and a new one cannot differ.
/// </summary>
internal static class Schema
{
    /// <summary>"WBHI", so that other programs' SQLite files are not taken for ours.</summary>
    public const int ApplicationId = 0x57424849;

    private static readonly string[] Steps = [Version1, Version2, Version3, Version4];

    private const string Version1 = """
        CREATE TABLE meta(name TEXT PRIMARY KEY, value INTEGER NOT NULL) WITHOUT ROWID;
        CREATE TABLE washers(id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, sealed_through INTEGER NOT NULL);
        CREATE TABLE sources(id INTEGER PRIMARY KEY, washer INTEGER NOT NULL REFERENCES washers, grp INTEGER NOT NULL, UNIQUE(washer, grp));
        CREATE TABLE signals(id INTEGER PRIMARY KEY, washer TEXT NOT NULL, station INTEGER NOT NULL, name TEXT NOT NULL, unit TEXT NOT NULL, type INTEGER NOT NULL,
            UNIQUE(washer, station, name, unit, type));
        CREATE TABLE hot(first_seq INTEGER PRIMARY KEY, last_seq INTEGER NOT NULL, t_first INTEGER NOT NULL, t_last INTEGER NOT NULL, sources BLOB NOT NULL, body BLOB NOT NULL);
        CREATE INDEX hot_time ON hot(t_last);
        CREATE TABLE events(seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL, washer INTEGER NOT NULL REFERENCES washers, cycle TEXT,
            t_earliest INTEGER NOT NULL, t_latest INTEGER NOT NULL, body TEXT NOT NULL, checksum INTEGER NOT NULL);
        CREATE INDEX events_washer ON events(washer);
        CREATE INDEX events_cycle ON events(cycle) WHERE cycle IS NOT NULL;
        CREATE INDEX events_kind ON events(kind, t_latest, t_earliest);
        CREATE INDEX events_time ON events(t_latest, t_earliest);
        CREATE TABLE followers(name TEXT PRIMARY KEY, seq INTEGER NOT NULL, state TEXT, moved INTEGER NOT NULL) WITHOUT ROWID;
        """;

    /// <summary>Sealed segments and hourly summaries.</summary>
    private const string Version2 = """
        CREATE TABLE segments(id INTEGER PRIMARY KEY AUTOINCREMENT, washer INTEGER NOT NULL REFERENCES washers, first_seq INTEGER NOT NULL, last_seq INTEGER NOT NULL,
            t_first INTEGER NOT NULL, t_last INTEGER NOT NULL, frames INTEGER NOT NULL, samples INTEGER NOT NULL);
        CREATE INDEX segments_log ON segments(washer, last_seq);
        CREATE INDEX segments_time ON segments(washer, t_last, t_first);
        CREATE TABLE frame_chunks(segment INTEGER NOT NULL, source INTEGER NOT NULL, first_seq INTEGER NOT NULL, last_seq INTEGER NOT NULL, frames INTEGER NOT NULL,
            times BLOB NOT NULL, notes BLOB NOT NULL, PRIMARY KEY(segment, source)) WITHOUT ROWID;
        CREATE TABLE blocks(segment INTEGER NOT NULL, number INTEGER NOT NULL, body BLOB NOT NULL, PRIMARY KEY(segment, number)) WITHOUT ROWID;
        CREATE TABLE chunks(signal INTEGER NOT NULL, t_last INTEGER NOT NULL, segment INTEGER NOT NULL, source INTEGER NOT NULL, t_first INTEGER NOT NULL,
            block INTEGER NOT NULL, start INTEGER NOT NULL, length INTEGER NOT NULL, samples INTEGER NOT NULL, PRIMARY KEY(signal, t_last, segment, source)) WITHOUT ROWID;
        CREATE INDEX chunks_segment ON chunks(segment);
        CREATE TABLE hourly(signal INTEGER NOT NULL, hour INTEGER NOT NULL, segment INTEGER NOT NULL, count INTEGER NOT NULL, minimum REAL NOT NULL, maximum REAL NOT NULL,
            sum REAL, last REAL NOT NULL, last_at INTEGER NOT NULL, PRIMARY KEY(signal, hour, segment)) WITHOUT ROWID;
        ALTER TABLE signals ADD COLUMN chunk_span INTEGER NOT NULL DEFAULT 0;
        """;

    /// <summary>The chain of records, and which events are about which keg.</summary>
    private const string Version3 = """
        CREATE TABLE records(number INTEGER PRIMARY KEY, event INTEGER NOT NULL UNIQUE, previous BLOB NOT NULL, hash BLOB NOT NULL);
        CREATE TABLE kegs(keg TEXT NOT NULL, event INTEGER NOT NULL, PRIMARY KEY(keg, event)) WITHOUT ROWID;
        CREATE INDEX kegs_event ON kegs(event);
        """;

    /// <summary>Events other than records are packed as they come. Those that are there stay as they are, and are read as they are.</summary>
    private const string Version4 = "SELECT 1";

    public static int Current => Steps.Length;

    /// <summary>Makes the tables of a new file, or brings an older file up to date, in one transaction.</summary>
    /// <returns>The version that the file was of; 0 for a new one.</returns>
    public static int Prepare(Database database, long nowMicroseconds)
    {
        var version = Identify(database);
        if (version == Current)
        {
            return version;
        }

        if (version == 0)
        {
            // Only an empty file can be told to give back space.
            database.SetPragma("auto_vacuum", 2);
        }

        Upgrade(database, version, Current);
        if (version == 0)
        {
            database.Prepare("INSERT OR IGNORE INTO meta VALUES('created', ?)").Bind(1, nowMicroseconds).Run();
        }

        return version;
    }

    public static void Upgrade(Database database, int from, int to) => database.Write(() =>
    {
        for (var step = from; step < to; step++)
        {
            database.Execute(Steps[step]);
            if (Steps[step] == Version3)
            {
                RecordTable.Fill(database);
                KegTable.Fill(database);
            }
        }

        database.SetPragma("application_id", ApplicationId);
        database.SetPragma("user_version", to);
    });

    /// <summary>Checks a file that is only read: it must be of this version.</summary>
    public static void Require(Database database)
    {
        if (Identify(database) is var version && version < Current)
        {
            throw new HistorianException(HistorianFault.OlderVersion, database.Path, string.Create(CultureInfo.InvariantCulture, $"the file is of version {version}, this program reads version {Current}, and reading changes nothing: it must be opened for writing once"));
        }
    }

    /// <summary>The file's version; 0 for a new one.</summary>
    private static int Identify(Database database)
    {
        var version = (int)database.Pragma("user_version");
        var application = database.Pragma("application_id");
        if (application == 0 && version == 0 && database.Prepare("SELECT count(*) FROM sqlite_schema").Scalar() == 0)
        {
            return 0;
        }

        if (application != ApplicationId)
        {
            throw new HistorianException(HistorianFault.NotAHistorian, database.Path, "the file is not a historian, but another program's SQLite database");
        }

        return version <= Current
            ? version
            : throw new HistorianException(HistorianFault.NewerVersion, database.Path, string.Create(CultureInfo.InvariantCulture, $"the file is of version {version}, this program knows versions up to {Current}; use a newer program"));
    }
}
