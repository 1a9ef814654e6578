using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pairing;
using WashBridge.Pipeline;

namespace WashBridge.Web.Accounts;

/// <summary>Records changes of accounts in the historian, those that a command made beside the running service included.</summary>
internal sealed class AccountRecords(ChangeBook changes, AccountBook accounts, Site site, IHistorian historian, HistorianSignal signal, TimeProvider time, ILogger<AccountRecords> logger, ReadingRole? role = null) : BackgroundService
{
    private static readonly TimeSpan Every = TimeSpan.FromSeconds(5);

    private readonly Lock _gate = new();

    /// <summary>An id that follows from the change alone, so that one that was recorded just before a stop is not recorded twice.</summary>
    public static AccountChanged Make(Change change) => new()
    {
        Id = $"{WashEvent.WholeSite}/account/{change.At.ToUnixTimeMilliseconds()}/{change.Number}",
        Washer = WashEvent.WholeSite,
        At = new TimeBounds(Instant.Floor(change.At), Instant.Ceiling(change.At)),
        Act = new Act { By = change.Author.Name, Role = change.Author.Role, Reason = change.Reason, Means = change.Author.Means, Entered = Instant.Ceiling(change.At) },
        User = change.User,
        Change = change.What,
        OldValue = change.Old,
        NewValue = change.New,
    };

    /// <summary>Takes what waits into the historian.</summary>
    public static void Take(ChangeBook changes, IHistorian historian, Action<long> committed)
    {
        while (changes.Waiting is { Count: > 0 } waiting)
        {
            committed(historian.AppendEvents([.. waiting.Select(Make)]));
            changes.Recorded(waiting[^1].Number);
        }
    }

    /// <summary>Takes at once what a page has just changed.</summary>
    public void Catch()
    {
        if (role is { IsReading: false })
        {
            // They wait, so that the copy stays one.
            return;
        }

        try
        {
            lock (_gate)
            {
                Take(changes, historian, signal.Publish);
            }
        }
        catch (Exception failure) when (failure is HistorianException or Microsoft.Data.Sqlite.SqliteException)
        {
            AccessLog.NotRecorded(logger, failure);
        }
    }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (site.Http is { NeedsLogin: true, OpenIdConnect: null } && !accounts.All.Any(a => a is { Role: Role.Administrator, IsDisabled: false }))
        {
            AccessLog.NobodyAdministers(logger, site.Store.Path);
        }

        using var timer = new PeriodicTimer(Every, time);
        try
        {
            do
            {
                Catch();
            }
            while (await timer.WaitForNextTickAsync(stoppingToken));
        }
        catch (OperationCanceledException)
        {
            // What waits is taken at the next start.
        }
    }
}
