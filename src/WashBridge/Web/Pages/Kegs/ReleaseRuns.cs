using WashBridge.Historian;

namespace WashBridge.Web.Pages.Kegs;

/// <summary>Kegs that are released one after the other, while a page looks on.</summary>
/// <param name="number">Of the run, since the program started.</param>
/// <param name="count">Of kegs.</param>
internal sealed class ReleaseRun(int number, int count)
{
    private int _done;

    public int Number => number;

    public int Count => count;

    /// <summary>Kegs so far, released or left.</summary>
    public int Done => Volatile.Read(ref _done);

    /// <summary>Null: it goes on.</summary>
    public ReleasedKegs? Result { get; private set; }

    /// <summary>Ends when all kegs are done; never fails.</summary>
    public Task Ended { get; private set; } = Task.CompletedTask;

    /// <param name="release">Releases one keg; the reason why it could not be, or null.</param>
    public void Start(IReadOnlyList<(string Keg, string Verdict)> kegs, Func<string, string, string?> release, CancellationToken stopping) => Ended = Task.Run(
        () =>
        {
            var left = new List<(string, string)>();
            foreach (var (keg, verdict) in kegs)
            {
                if ((stopping.IsCancellationRequested ? "the service was stopped before its turn came" : Try(release, keg, verdict)) is { } reason)
                {
                    left.Add((keg, reason));
                }

                Interlocked.Increment(ref _done);
            }

            Result = new ReleasedKegs(kegs.Count - left.Count, left);
        },
        CancellationToken.None);

    private static string? Try(Func<string, string, string?> release, string keg, string verdict)
    {
        try
        {
            return release(keg, verdict);
        }
        catch (HistorianException failure)
        {
            return failure.Message;
        }
    }
}

/// <summary>Releases of many kegs: those that run, and the last ones that are done.</summary>
internal sealed class ReleaseRuns(TimeProvider time) : IHostedService, IDisposable
{
    /// <summary>So long a page waits for the end before it shows how far it is.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(2);

    private const int Kept = 20;

    private readonly CancellationTokenSource _stopping = new();
    private readonly Lock _lock = new();
    private readonly List<ReleaseRun> _runs = [];
    private int _last;

    public ReleaseRun? Find(int number)
    {
        lock (_lock)
        {
            return _runs.Find(r => r.Number == number);
        }
    }

    /// <inheritdoc cref="ReleaseRun.Start"/>
    public ReleaseRun Start(IReadOnlyList<(string Keg, string Verdict)> kegs, Func<string, string, string?> release)
    {
        lock (_lock)
        {
            var run = new ReleaseRun(++_last, kegs.Count);
            run.Start(kegs, release, _stopping.Token);
            _runs.RemoveAll(r => r.Result is not null && r.Number <= _last - Kept);
            _runs.Add(run);
            return run;
        }
    }

    /// <summary>Until it has ended, or <see cref="Patience"/> is over.</summary>
    public async Task WaitAsync(ReleaseRun run) => await Task.WhenAny(run.Ended, Task.Delay(Patience, time));

    public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    /// <summary>The historian is closed after this.</summary>
    public async Task StopAsync(CancellationToken cancellationToken)
    {
        await _stopping.CancelAsync();
        Task[] running;
        lock (_lock)
        {
            running = [.. _runs.Select(r => r.Ended)];
        }

        await Task.WhenAll(running);
    }

    public void Dispose() => _stopping.Dispose();
}
