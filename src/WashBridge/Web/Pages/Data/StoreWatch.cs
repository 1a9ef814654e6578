using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Pipeline;

namespace WashBridge.Web.Pages.Data;

/// <summary>Looks at the size of the historian's file now and then, to tell how fast it grows.</summary>
internal sealed class StoreWatch(Site site, TimeProvider time) : BackgroundService
{
    private static readonly TimeSpan Every = TimeSpan.FromMinutes(10);

    private readonly Lock _gate = new();
    private readonly StoreGrowth _growth = new();

    /// <summary>How the file and its disk stand.</summary>
    /// <param name="first">When the earliest frame that is kept was read.</param>
    public StoreState Now(Instant? first)
    {
        var now = Instant.Floor(time.GetUtcNow());
        var space = StoreSpace.Of(site.Store.Path);
        lock (_gate)
        {
            return new StoreState(site.Store.Path, space.Bytes, space.Free, _growth.BytesADay(now, space.Bytes, first));
        }
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Every, time);
        try
        {
            do
            {
                lock (_gate)
                {
                    _growth.Take(Instant.Floor(time.GetUtcNow()), StoreSpace.Of(site.Store.Path).Bytes);
                }
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
        }
    }
}

/// <param name="File">The historian's.</param>
/// <param name="Bytes">Its size.</param>
/// <param name="Free">Bytes left on its disk; null: not known.</param>
/// <param name="Growth">Null: too little was seen.</param>
internal sealed record StoreState(string File, long Bytes, long? Free, Growth? Growth)
{
    /// <summary>How long what is left lasts if it goes on so; null: not known, or it does not grow.</summary>
    public TimeSpan? Lasts => Free is { } free && Growth is { BytesADay: > 0 and var rate } ? TimeSpan.FromDays(Math.Min(free / rate, 365_000)) : null;
}

/// <param name="BytesADay">How fast the file grows.</param>
/// <param name="Over">As seen over so long.</param>
/// <param name="IsAverage">Of all that is kept, because the service has not run for long enough.</param>
internal sealed record Growth(double BytesADay, TimeSpan Over, bool IsAverage);

/// <summary>The size of a file over the last day.</summary>
internal sealed class StoreGrowth
{
    private const int Most = 145;
    private static readonly TimeSpan Least = TimeSpan.FromHours(1);

    private readonly Queue<(Instant At, long Bytes)> _seen = new();

    public void Take(Instant at, long bytes)
    {
        _seen.Enqueue((at, bytes));
        while (_seen.Count > Most)
        {
            _seen.Dequeue();
        }
    }

    /// <summary>Null: less than an hour was seen. A file that shrinks, as when old samples are dropped, does not grow: 0.</summary>
    public Growth? BytesADay(Instant now, long bytes, Instant? first)
    {
        if (_seen.TryPeek(out var oldest) && now - oldest.At >= Least)
        {
            return new Growth(Math.Max(0, bytes - oldest.Bytes) / (now - oldest.At).TotalDays, now - oldest.At, IsAverage: false);
        }

        return first is { } begin && now - begin >= Least ? new Growth(bytes / (now - begin).TotalDays, now - begin, IsAverage: true) : null;
    }
}
