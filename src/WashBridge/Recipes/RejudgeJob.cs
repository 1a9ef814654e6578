using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Orders;

namespace WashBridge.Recipes;

/// <summary>A judging again that goes on while people look at other things: only counting, or recording.</summary>
internal sealed class RejudgeJob(int number, RejudgeQuestion question, Act? record) : IDisposable
{
    private const int BatchSize = 200;

    private readonly CancellationTokenSource _stop = new();
    private readonly Lock _lock = new();
    private readonly RejudgeSummary _summary = new();
    private double _share;

    public int Number => number;

    public RejudgeQuestion Question => question;

    /// <summary>Who has it recorded, and why; null: it is only counted.</summary>
    public Act? Record => record;

    public bool IsDone { get; private set; }

    public bool WasStopped { get; private set; }

    /// <summary>Why it could not be finished; null: it could, or it is not done.</summary>
    public string? Failure { get; private set; }

    /// <summary>Which share of the cycles is done, 0 to 1.</summary>
    public double Share => Volatile.Read(ref _share);

    /// <summary>Counts so far.</summary>
    public T Read<T>(Func<RejudgeSummary, T> read)
    {
        lock (_lock)
        {
            return read(_summary);
        }
    }

    public void Stop() => _stop.Cancel();

    public void Run(IHistorianReader historian, Site site, RecordDesk desk)
    {
        try
        {
            foreach (var batch in Rejudging.Run(historian, site, question, share => Volatile.Write(ref _share, share), _stop.Token).Chunk(BatchSize))
            {
                if (record is not null)
                {
                    desk.TakeAll(now => [.. batch.Select(keg => Rejudging.Record(keg, question.Recipe, record, TellingChecks.Now(now))).OfType<WashEvent>()]);
                }

                lock (_lock)
                {
                    Array.ForEach(batch, _summary.Add);
                }
            }
        }
        catch (OperationCanceledException)
        {
            WasStopped = true;
        }
        catch (Exception failure) when (failure is HistorianException or ObjectDisposedException or TellingException)
        {
            Failure = failure.Message;
        }

        IsDone = true;
    }

    public void Dispose() => _stop.Dispose();
}

/// <summary>The judging again that runs, and the last ones that are done. One at a time: each reads much.</summary>
internal sealed class RejudgeJobs(IHistorian historian, Site site, RecordDesk desk) : IHostedService, IDisposable
{
    private const int Kept = 8;

    private readonly Lock _lock = new();
    private readonly List<RejudgeJob> _jobs = [];
    private Task _running = Task.CompletedTask;
    private int _last;

    public RejudgeJob? Find(int number)
    {
        lock (_lock)
        {
            return _jobs.Find(j => j.Number == number);
        }
    }

    /// <summary>The one that is running, or null.</summary>
    public RejudgeJob? Running
    {
        get
        {
            lock (_lock)
            {
                return _jobs.Find(j => !j.IsDone);
            }
        }
    }

    /// <exception cref="TellingException">Another one is running.</exception>
    public RejudgeJob Start(RejudgeQuestion question, Act? record)
    {
        lock (_lock)
        {
            if (_jobs.Find(j => !j.IsDone) is { } other)
            {
                throw new TellingException($"another judging again is running, {other.Question.Recipe.Id} version {other.Question.Recipe.Version}: wait for its end, or stop it", isConflict: true);
            }

            var job = new RejudgeJob(++_last, question, record);
            _jobs.Add(job);
            while (_jobs.Count > Kept)
            {
                _jobs[0].Dispose();
                _jobs.RemoveAt(0);
            }

            _running = Task.Run(() => job.Run(historian, site, desk), CancellationToken.None);
            return job;
        }
    }

    /// <summary>For tests: until what runs now is done.</summary>
    public Task WaitAsync() => _running;

    public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    /// <summary>The historian is closed after this.</summary>
    public async Task StopAsync(CancellationToken cancellationToken)
    {
        Running?.Stop();
        await _running;
    }

    public void Dispose()
    {
        _jobs.ForEach(j => j.Dispose());
        _jobs.Clear();
    }
}
