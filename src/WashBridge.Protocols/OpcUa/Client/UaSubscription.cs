using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>A subscription of a <see cref="UaConnection"/>, through all its sessions.</summary>
/// <remarks>
/// Everything is done in the order in which it happened, one at a time: messages, interruptions, resumptions, retries. The listener is called from there only.
/// </remarks>
public sealed partial class UaSubscription : IAsyncDisposable
{
    /// <summary>Messages that wait for a slow listener before the server is asked for no more.</summary>
    public const int MaxBacklog = 16;

    private readonly SubscriptionSpec spec;
    private readonly ISubscriptionListener listener;
    private readonly UaClientOptions options;
    private readonly Counters counters;
    private readonly ILogger logger;
    private readonly TimeProvider time;
    private readonly Action<UaSubscription> onEnded;
    private readonly Mailbox<Work> mailbox;
    private readonly CancellationTokenSource ending = new();
    private int backlog;
    private TaskCompletionSource? roomMade;

    internal UaSubscription(
        SubscriptionSpec spec,
        ISubscriptionListener listener,
        UaClientOptions options,
        Counters counters,
        ILogger logger,
        TimeProvider time,
        TaskScheduler scheduler,
        Action<UaSubscription> onEnded)
    {
        this.spec = spec;
        this.listener = listener;
        this.options = options;
        this.counters = counters;
        this.logger = logger;
        this.time = time;
        this.onEnded = onEnded;
        items = [.. spec.Items.Select(item => new MonitoredItem(item))];
        byHandle = items.ToDictionary(item => item.Spec.ClientHandle);
        revised = new RevisedTimes(spec.PublishingInterval, spec.KeepAlive, spec.Lifetime);
        mailbox = new Mailbox<Work>(HandleSafelyAsync, ReadAnewIfNeededAsync, scheduler);
    }

    private enum WorkKind
    {
        Message,
        Attach,
        Interrupt,
        Lost,
        Retry,
        Clock,
    }

    public SubscriptionSpec Spec => spec;

    /// <summary>As revised by the server; as asked for until then.</summary>
    public TimeSpan PublishingInterval => revised.PublishingInterval;

    /// <summary>As revised by the server; as asked for until then.</summary>
    public TimeSpan KeepAlive => revised.KeepAlive;

    /// <summary>True while it runs at the server, as far as is known.</summary>
    public bool IsRunning => isRunning;

    /// <summary>Set by the publisher: its count of registrations when this one came.</summary>
    internal int RegisteredAs { get; set; }

    /// <summary>0: there is none at the server.</summary>
    internal uint Id => Volatile.Read(ref id);

    internal bool IsBacklogged => Volatile.Read(ref backlog) >= MaxBacklog;

    /// <summary>Ends it at the server; the listener hears nothing more.</summary>
    public async ValueTask DisposeAsync()
    {
        if (ending.IsCancellationRequested)
        {
            return;
        }

        onEnded(this);
        ending.Cancel();
        await mailbox.CloseAsync();
        await EndAsync();
    }

    /// <summary>A message or a keep-alive has come.</summary>
    internal void Accept(in ServiceResponse<PublishResponse> response)
    {
        Volatile.Write(ref lastHeard, response.Received);
        Interlocked.Increment(ref backlog);
        if (!mailbox.Do(new Work(WorkKind.Message, response)))
        {
            Interlocked.Decrement(ref backlog);
        }
    }

    /// <summary>Completes when fewer messages wait than are allowed, or when the subscription ends.</summary>
    internal async Task WaitForRoomAsync(CancellationToken stop)
    {
        while (IsBacklogged && !ending.IsCancellationRequested)
        {
            stop.ThrowIfCancellationRequested();
            var made = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
            Interlocked.Exchange(ref roomMade, made);
            using var isStopped = stop.UnsafeRegister(static waiting => ((TaskCompletionSource)waiting!).TrySetResult(), made);
            using var hasEnded = ending.Token.UnsafeRegister(static waiting => ((TaskCompletionSource)waiting!).TrySetResult(), made);
            if (IsBacklogged)
            {
                await made.Task;
            }
        }
    }

    /// <summary>There is a session (again). Completes when the subscription runs on it, or could not be made to.</summary>
    internal Task AttachAsync(Attachment attachment)
    {
        mailbox.Post(new Work(WorkKind.Attach, default, attachment));
        return attachment.Done.Task;
    }

    internal void Interrupt(string reason, long stamp) => mailbox.Post(new Work(WorkKind.Interrupt, default, new Interruption(reason, stamp)));

    /// <summary>It does not run at the server any more, though the session does.</summary>
    internal void ReportLost(string reason, bool isSilent = false) => mailbox.Post(new Work(WorkKind.Lost, default, new Loss(Id, reason, isSilent)));

    internal void TellClock(in ClockOffset offset)
    {
        // Of readings that wait only the latest counts.
        latestClock = new Boxed<ClockOffset>(offset);
        if (Interlocked.Exchange(ref isClockWaiting, 1) == 0)
        {
            mailbox.Post(new Work(WorkKind.Clock));
        }
    }

    private async ValueTask HandleSafelyAsync(Work work)
    {
        try
        {
            if (!ending.IsCancellationRequested)
            {
                await HandleAsync(work);
            }
        }
        catch (Exception e)
        {
            TakeFailure(e);
        }

        if (work.Kind == WorkKind.Message && Interlocked.Decrement(ref backlog) == MaxBacklog - 1)
        {
            Volatile.Read(ref roomMade)?.TrySetResult();
        }

        (work.Subject as Attachment)?.Done.TrySetResult();
    }

    private async ValueTask ReadAnewIfNeededAsync()
    {
        try
        {
            if (needsReadAnew && isRunning && !ending.IsCancellationRequested)
            {
                await ReadAnewAsync();
            }
        }
        catch (Exception e)
        {
            TakeFailure(e); // tried again after the next message
        }
    }

    private void TakeFailure(Exception failure)
    {
        if (failure is UaException or OperationCanceledException)
        {
            return; // the session ended in between: whatever was not done is done when there is a new one
        }

        // A mistake of ours must not silence the subscription for ever.
        ClientLog.SupervisionFailed(logger, options.Endpoint, failure);
        isRunning = false;
        ScheduleRetry(FirstRetry);
    }

    private ValueTask HandleAsync(in Work work)
    {
        switch (work.Kind)
        {
            case WorkKind.Message:
                return TakeMessageAsync(work.Message);
            case WorkKind.Attach:
                return new ValueTask(TakeSessionAsync((Attachment)work.Subject!));
            case WorkKind.Interrupt:
                TakeInterruption((Interruption)work.Subject!);
                return default;
            case WorkKind.Lost:
                return new ValueTask(TakeLossAsync((Loss)work.Subject!));
            case WorkKind.Retry:
                return new ValueTask(TakeRetryAsync());
            default:
                Volatile.Write(ref isClockWaiting, 0);
                Tell(static (listener, offset) => listener.OnClockOffset(offset), latestClock!.Value);
                return default;
        }
    }

    /// <summary>A listener's failure is its own.</summary>
    private void Tell<T>(Action<ISubscriptionListener, T> call, T argument)
    {
        try
        {
            call(listener, argument);
        }
#pragma warning disable CA1031 // whatever the listener throws must not end the subscription
        catch (Exception e)
#pragma warning restore CA1031
        {
            ClientLog.ListenerFailed(logger, spec.Name, e);
        }
    }

    private readonly record struct Work(WorkKind Kind, ServiceResponse<PublishResponse> Message = default, object? Subject = null);

    private sealed record Interruption(string Reason, long Stamp);

    /// <param name="Id">Of the subscription that is meant; another one may have taken its place already.</param>
    private sealed record Loss(uint Id, string Reason, bool IsSilent);

    private sealed record Boxed<T>(T Value);

    /// <summary>As the server revised them.</summary>
    private sealed record RevisedTimes(TimeSpan PublishingInterval, TimeSpan KeepAlive, TimeSpan Lifetime);
}

/// <summary>A session that a subscription is to run on.</summary>
/// <param name="IsKept">The server should still have the subscription: the session was activated again, or the subscription transferred.</param>
internal sealed record Attachment(UaSession Session, Publisher Publisher, bool IsKept)
{
    public TaskCompletionSource Done { get; } = new(TaskCreationOptions.RunContinuationsAsynchronously);
}
