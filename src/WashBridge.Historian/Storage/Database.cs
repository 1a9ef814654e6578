using System.Globalization;
using Microsoft.Data.Sqlite;
using SQLitePCL;

namespace WashBridge.Historian.Storage;

/// <summary>One connection to the file, used by one thread at a time, with its prepared statements.</summary>
internal sealed class Database : IDisposable
{
    /// <summary>SQLITE_DBSTATUS_CACHE_WRITE, https://www.sqlite.org/c3ref/c_dbstatus_options.html</summary>
    private const int DatabaseStatusCacheWrite = 9;

    private readonly SqliteConnection _connection;
    private readonly Dictionary<string, Statement> _statements = [];

    private Database(string path, SqliteConnection connection, bool isImmutable)
    {
        Path = path;
        _connection = connection;
        IsImmutable = isImmutable;
    }

    public string Path { get; }

    public sqlite3 Handle => _connection.Handle ?? throw new ObjectDisposedException(nameof(Database));

    public string? LastError => raw.sqlite3_errmsg(Handle).utf8_to_string();

    /// <summary>Opened in the belief that nobody writes to the file: not to be kept.</summary>
    public bool IsImmutable { get; }

    /// <summary>Pages that this connection has written to the write-ahead log so far.</summary>
    public long PagesWritten
    {
        get
        {
            raw.sqlite3_db_status(Handle, DatabaseStatusCacheWrite, out var pages, out _, 0);
            return pages;
        }
    }

    /// <summary>Rows that the last statement inserted, changed or deleted.</summary>
    public int Changes => raw.sqlite3_changes(Handle);

    public static Database OpenForWriting(string path, TimeSpan lockTimeout) => Open(path, path, SqliteOpenMode.ReadWriteCreate, lockTimeout);

    public static Database OpenForReading(string path, TimeSpan lockTimeout) => Open(path, path, SqliteOpenMode.ReadOnly, lockTimeout);

    /// <summary>For a file that nobody writes, in a folder where no shared-memory file can be made (https://www.sqlite.org/uri.html, "immutable").</summary>
    public static Database OpenImmutable(string path)
    {
        var uri = "file:" + string.Join('/', System.IO.Path.GetFullPath(path).Split('/').Select(Uri.EscapeDataString)) + "?immutable=1";
        return Open(path, uri, SqliteOpenMode.ReadOnly, TimeSpan.Zero, isImmutable: true);
    }

    /// <summary>The statement for <paramref name="sql"/>, prepared once for this connection.</summary>
    public Statement Prepare(string sql)
    {
        if (!_statements.TryGetValue(sql, out var statement))
        {
            statement = new Statement(this, sql);
            _statements.Add(sql, statement);
        }

        return statement;
    }

    /// <summary>Runs a script of one or more statements without results.</summary>
    public void Execute(string script)
    {
        var code = raw.sqlite3_exec(Handle, script);
        Check(code);
    }

    public long Pragma(string name) => Prepare($"PRAGMA {name}").Scalar();

    public void SetPragma(string name, long value) => Execute(string.Create(CultureInfo.InvariantCulture, $"PRAGMA {name}={value}"));

    /// <summary>Runs <paramref name="work"/> as one transaction: all of it is stored, or nothing.</summary>
    public void Write(Action work)
    {
        Prepare("BEGIN IMMEDIATE").Run();
        try
        {
            work();
            Prepare("COMMIT").Run();
        }
        catch
        {
            Rollback();
            throw;
        }
    }

    /// <summary>Runs <paramref name="work"/> on one snapshot of the file. Keep it short: an open snapshot keeps the write-ahead log from shrinking.</summary>
    public T Read<T>(Func<Database, T> work)
    {
        Prepare("BEGIN").Run();
        try
        {
            return work(this);
        }
        finally
        {
            Rollback();
        }
    }

    public void Check(int code)
    {
        if (code != raw.SQLITE_OK)
        {
            throw Failure(code, LastError);
        }
    }

    public HistorianException Failure(int code, string? detail) => Faults.Describe(code, detail, Path);

    public void Dispose()
    {
        foreach (var statement in _statements.Values)
        {
            statement.Dispose();
        }

        _connection.Dispose();
    }

    private static Database Open(string path, string source, SqliteOpenMode mode, TimeSpan lockTimeout, bool isImmutable = false)
    {
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = source, Mode = mode, Pooling = false }.ToString());
        try
        {
            connection.Open();
            _ = raw.sqlite3_busy_timeout(connection.Handle, (int)lockTimeout.TotalMilliseconds);
            return new Database(path, connection, isImmutable);
        }
        catch (SqliteException e)
        {
            connection.Dispose();
            throw Faults.Describe(e.SqliteExtendedErrorCode, e.Message, path);
        }
    }

    private void Rollback()
    {
        foreach (var statement in _statements.Values)
        {
            statement.Reset();
        }

        // SQLite has rolled back by itself after some errors, such as a full disk.
        if (raw.sqlite3_get_autocommit(Handle) == 0)
        {
            Prepare("ROLLBACK").Run();
        }
    }
}
