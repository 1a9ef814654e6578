using Microsoft.Data.Sqlite;

namespace WashBridge.Web.Accounts;

/// <summary>
/// Accounts, sessions and tokens in a small SQLite file beside the store, which only the service's user may read. It is a file of its own so that a copy of the
/// store, which goes to others, carries no hash of a password; and it is SQLite, not JSON, because the command and the running service may both change it.
/// Every change is one transaction, with what is to be recorded of it (<see cref="ChangeBook"/>).
/// </summary>
internal sealed class AccountsFile : IDisposable
{
    /// <summary>Behind the store's name.</summary>
    public const string Suffix = ".accounts";

    private const int FormatVersion = 1;

    private const string Schema = """
        CREATE TABLE accounts (
          name TEXT PRIMARY KEY COLLATE NOCASE, role TEXT NOT NULL, password TEXT NOT NULL, must_change INTEGER NOT NULL, disabled INTEGER NOT NULL DEFAULT 0,
          failures INTEGER NOT NULL DEFAULT 0, locked_until INTEGER, made INTEGER NOT NULL, password_set INTEGER NOT NULL, last_login INTEGER) STRICT;
        CREATE TABLE sessions (
          id TEXT PRIMARY KEY, name TEXT NOT NULL COLLATE NOCASE, role TEXT, begun INTEGER NOT NULL, seen INTEGER NOT NULL, proven INTEGER NOT NULL) STRICT;
        CREATE INDEX sessions_by_name ON sessions (name);
        CREATE TABLE tokens (
          name TEXT PRIMARY KEY COLLATE NOCASE, role TEXT NOT NULL, hash BLOB NOT NULL UNIQUE, made INTEGER NOT NULL, made_by TEXT NOT NULL, expires INTEGER NOT NULL,
          last_used INTEGER, revoked INTEGER) STRICT;
        CREATE TABLE changes (
          number INTEGER PRIMARY KEY AUTOINCREMENT, at INTEGER NOT NULL, by TEXT NOT NULL, role TEXT, means TEXT NOT NULL, user TEXT NOT NULL, change TEXT NOT NULL,
          old TEXT, new TEXT, reason TEXT NOT NULL) STRICT;
        """;

    private readonly SqliteConnection _connection;
    private readonly Lock _gate = new();

    private AccountsFile(SqliteConnection connection) => _connection = connection;

    /// <exception cref="AccountException">It cannot be opened, or is none of ours.</exception>
    public static AccountsFile Open(string store)
    {
        var path = store + Suffix;
        SqliteConnection? connection = null;
        try
        {
            MakePrivate(path);
            connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = SqliteOpenMode.ReadWrite, Pooling = false, DefaultTimeout = 10 }.ToString());
            connection.Open();
            var file = new AccountsFile(connection);
            file.Prepare(path);
            return file;
        }
        catch (Exception failure) when (failure is SqliteException or IOException or UnauthorizedAccessException)
        {
            connection?.Dispose();
            throw new AccountException($"{path}: the accounts cannot be opened: {failure.Message}");
        }
        catch
        {
            connection?.Dispose();
            throw;
        }
    }

    public IReadOnlyList<T> Read<T>(string sql, Func<SqliteDataReader, T> read, params ReadOnlySpan<(string Name, object? Value)> values)
    {
        lock (_gate)
        {
            using var command = Command(sql, values);
            using var reader = command.ExecuteReader();
            var rows = new List<T>();
            while (reader.Read())
            {
                rows.Add(read(reader));
            }

            return rows;
        }
    }

    /// <returns>Rows changed.</returns>
    public int Run(string sql, params ReadOnlySpan<(string Name, object? Value)> values)
    {
        lock (_gate)
        {
            using var command = Command(sql, values);
            return command.ExecuteNonQuery();
        }
    }

    /// <summary>All of it or nothing, and nobody else writes in between.</summary>
    public T Together<T>(Func<T> work)
    {
        lock (_gate)
        {
            Run("BEGIN IMMEDIATE");
            try
            {
                var result = work();
                Run("COMMIT");
                return result;
            }
            catch
            {
                Run("ROLLBACK");
                throw;
            }
        }
    }

    public void Dispose() => _connection.Dispose();

    private static void MakePrivate(string path)
    {
        const UnixFileMode mine = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        var options = new FileStreamOptions { Mode = FileMode.OpenOrCreate, Access = FileAccess.ReadWrite, Share = FileShare.ReadWrite };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = mine;
        }

        new FileStream(path, options).Dispose();
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(path, mine);
        }
    }

    private void Prepare(string path)
    {
        Run("PRAGMA synchronous = FULL");
        Together(() =>
        {
            var version = Read("PRAGMA user_version", r => r.GetInt64(0))[0];
            if (version == 0)
            {
                Run(Schema);
                Run($"PRAGMA user_version = {FormatVersion}");
            }
            else if (version != FormatVersion)
            {
                throw new AccountException($"{path}: its format is {version}; this program reads {FormatVersion}. Use the program that wrote it.");
            }

            return 0;
        });
    }

    private SqliteCommand Command(string sql, ReadOnlySpan<(string Name, object? Value)> values)
    {
        var command = _connection.CreateCommand();
        command.CommandText = sql;
        foreach (var (name, value) in values)
        {
            command.Parameters.AddWithValue("$" + name, value ?? DBNull.Value);
        }

        return command;
    }
}
