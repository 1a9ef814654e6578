using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Pipeline;

/// <summary>Seals what is older than an hour, and drops what is past its retention. Beside the writer, which neither holds up for long.</summary>
internal sealed partial class Housekeeping(IHistorian historian, StoreConfiguration store, TimeProvider time, ILogger<Housekeeping> logger)
{
    private static readonly TimeSpan Every = TimeSpan.FromMinutes(10);
    private static readonly TimeSpan SealAfter = TimeSpan.FromHours(1);

    public async Task RunAsync(CancellationToken cancellation)
    {
        using var timer = new PeriodicTimer(Every, time);
        try
        {
            while (await timer.WaitForNextTickAsync(cancellation))
            {
                Tidy(cancellation);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
        }
    }

    private void Tidy(CancellationToken cancellation)
    {
        var now = Instant.Floor(time.GetUtcNow());
        try
        {
            historian.Seal(now - SealAfter, cancellation);
            if (store.Retention is { } retention)
            {
                historian.Expire(now - retention, cancellation);
            }
        }
        catch (HistorianException failure) when (failure.IsTransient)
        {
            TidyFailed(logger, failure);
        }
    }

    [LoggerMessage(EventId = 2002, Level = LogLevel.Warning, Message = "Could not seal or expire old data; the next round tries again")]
    private static partial void TidyFailed(ILogger logger, Exception failure);
}
