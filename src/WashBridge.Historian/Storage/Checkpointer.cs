namespace WashBridge.Historian.Storage;

/// <summary>
/// Moves the write-ahead log into the file, beside the writer. Left to SQLite, every thousandth page or so the commit that comes by does that work and
/// waits for it; here no commit waits longer than for the few pages that were written meanwhile.
/// </summary>
internal sealed class Checkpointer(string path, TimeSpan lockTimeout) : IDisposable
{
    /// <summary>Pages in the log (4 KiB each) from which on it is worth the work.</summary>
    private const int PagesWorthIt = 1000;

    private readonly Lock _lock = new();
    private Database? _database;
    private Task _running = Task.CompletedTask;
    private long _pagesDone;
    private bool _disposed;

    /// <summary>To be called after a commit, by one thread at a time. Starts the work on another thread if there is enough.</summary>
    /// <param name="pagesWritten">Pages that the writer has written so far.</param>
    /// <param name="finish">Runs what it is given while nothing can be committed.</param>
    public void AfterCommit(long pagesWritten, Action<Action> finish)
    {
        if (_running.IsCompleted && pagesWritten - _pagesDone >= PagesWorthIt)
        {
            _pagesDone = pagesWritten;
            _running = Task.Run(() => Run(finish));
        }
    }

    /// <summary>Moves all there is.</summary>
    public void Run(Action<Action> finish)
    {
        lock (_lock)
        {
            if (_disposed)
            {
                return;
            }

            try
            {
                _database ??= Open();
                if (!Passive())
                {
                    // Something was committed meanwhile; without that little the log could not start again from its beginning.
                    finish(() => Passive());
                }
            }
            catch (HistorianException)
            {
                // A full or failing disk: the next append meets the same and reports it. The log keeps what was committed.
            }
            catch (ObjectDisposedException)
            {
                // The writer closed meanwhile: closing moves the rest.
            }
        }
    }

    public void Dispose()
    {
        lock (_lock)
        {
            _disposed = true;
            _database?.Dispose();
        }
    }

    private Database Open()
    {
        var database = Database.OpenForWriting(path, lockTimeout);
        database.Execute("PRAGMA synchronous=FULL");
        return database;
    }

    /// <summary>Whether all of the log is in the file now.</summary>
    private bool Passive()
    {
        var result = _database!.Prepare("PRAGMA wal_checkpoint(PASSIVE)");
        result.Step();
        var (busy, pages, moved) = (result.Long(0), result.Long(1), result.Long(2));
        result.Reset();
        return busy == 0 && pages == moved;
    }
}
