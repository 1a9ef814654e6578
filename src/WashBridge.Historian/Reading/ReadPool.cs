using System.Collections.Concurrent;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Connections for reading: as many as threads read at once, a few kept for the next.</summary>
internal sealed class ReadPool(string path, TimeSpan lockTimeout) : IDisposable
{
    private const int MostKept = 8;

    private readonly ConcurrentBag<Database> _idle = [];
    private volatile bool _disposed;

    public string Path => path;

    /// <summary>Runs <paramref name="work"/> on one snapshot of the file.</summary>
    public T Read<T>(Func<Database, T> work)
    {
        ObjectDisposedException.ThrowIf(_disposed, this);
        if (!_idle.TryTake(out var database))
        {
            database = Open();
        }

        var keep = false;
        try
        {
            var result = database.Read(work);
            keep = true;
            return result;
        }
        catch (Encoding.DamagedException)
        {
            keep = true;
            throw;
        }
        finally
        {
            if (keep && !_disposed && !database.IsImmutable && _idle.Count < MostKept)
            {
                _idle.Add(database);
            }
            else
            {
                database.Dispose();
            }
        }
    }

    public void Dispose()
    {
        _disposed = true;
        while (_idle.TryTake(out var database))
        {
            database.Dispose();
        }
    }

    private Database Open()
    {
        if (!File.Exists(path))
        {
            throw new HistorianException(HistorianFault.Unavailable, path, "the file does not exist");
        }

        try
        {
            return Checked(Database.OpenForReading(path, lockTimeout));
        }
        catch (HistorianException e) when (e.Fault is HistorianFault.Unavailable or HistorianFault.ReadOnly && !File.Exists(path + "-wal"))
        {
            // After a clean stop there is no write-ahead log, and this user cannot make one: then nobody can be writing either.
            return Checked(Database.OpenImmutable(path));
        }
    }

    private static Database Checked(Database database)
    {
        try
        {
            Schema.Require(database);
            return database;
        }
        catch
        {
            database.Dispose();
            throw;
        }
    }
}
