using System.Threading.Channels;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Keeps enough publish requests waiting at the server for all subscriptions of one session (OPC 10000-4, 5.14.5), hands the messages out in the order of
/// their requests, and acknowledges them.
/// </summary>
internal sealed partial class Publisher(UaSession session, UaClientOptions options, ILogger logger, TimeProvider time)
{
    private const int MaxAcknowledgements = 1000;

    /// <summary>A server answers requests in their order; an answer that is late by more than this no longer holds up those behind it.</summary>
    private static readonly TimeSpan Grace = TimeSpan.FromMilliseconds(100);

    private static readonly TimeSpan RefusedPause = TimeSpan.FromMilliseconds(250);

    private readonly Lock gate = new();
    private readonly Dictionary<uint, UaSubscription> subscriptions = [];
    private readonly List<SubscriptionAcknowledgement> acknowledgements = [];
    private readonly List<Slot> slots = [];
    private readonly Channel<Slot?> completions = Channel.CreateUnbounded<Slot?>(new UnboundedChannelOptions { SingleReader = true, AllowSynchronousContinuations = true });
    private CancellationToken stop;
    private bool isRunning;
    private int cap = options.MaxPublishRequests;
    private int registrations;
    private int refusals;
    private int writtenOff;
    private int silences;
    private long pausedUntil;

    /// <summary>Publish requests that wait at the server.</summary>
    public int Outstanding
    {
        get
        {
            lock (gate)
            {
                return slots.Count;
            }
        }
    }

    /// <summary>Ends when told to.</summary>
    public async Task RunAsync(CancellationToken stopping)
    {
        lock (gate)
        {
            (stop, isRunning) = (stopping, true);
        }

        while (!stopping.IsCancellationRequested)
        {
            try
            {
                await PumpAsync();
            }
            catch (OperationCanceledException) when (stopping.IsCancellationRequested)
            {
                // As asked.
            }
            catch (Exception e)
            {
                // A mistake of ours must not silence every subscription of the session.
                ClientLog.SupervisionFailed(logger, options.Endpoint, e);
            }
        }

        lock (gate)
        {
            isRunning = false;
        }
    }

    /// <summary>From now on messages of that id go to that subscription, also those that came before their time.</summary>
    public void Register(UaSubscription subscription, uint id)
    {
        List<ServiceResponse<PublishResponse>> early;
        lock (gate)
        {
            subscriptions[id] = subscription;
            registrations++;
            subscription.RegisteredAs = registrations;
            early = strangers.FindAll(s => s.Body.SubscriptionId == id);
            strangers.RemoveAll(s => s.Body.SubscriptionId == id);
            acknowledgements.AddRange(early.Where(s => !s.Body.Message.IsKeepAlive).Select(s => new SubscriptionAcknowledgement(id, s.Body.Message.SequenceNumber)));
        }

        foreach (var response in early)
        {
            subscription.Accept(response);
        }

        TopUp();
    }

    public void Unregister(uint id)
    {
        lock (gate)
        {
            subscriptions.Remove(id);
            acknowledgements.RemoveAll(a => a.SubscriptionId == id);
        }
    }

    /// <summary>One for each subscription, more where the way is long compared to the interval, and one to spare; at least two.</summary>
    private int Target()
    {
        if (subscriptions.Count == 0)
        {
            return 0;
        }

        var wanted = 1;
        foreach (var subscription in subscriptions.Values)
        {
            wanted += 1 + (int)Math.Min(options.MaxPublishRequests, session.RoundTrip / subscription.PublishingInterval);
        }

        return Math.Min(Math.Max(2, wanted), cap);
    }

    private async Task PumpAsync()
    {
        await using var grace = time.CreateTimer(static inbox => ((ChannelWriter<Slot?>)inbox!).TryWrite(null), completions.Writer, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        TopUp();
        while (await completions.Reader.WaitToReadAsync(stop))
        {
            while (completions.Reader.TryRead(out _))
            {
                // Only wakes: what is done is told by the slots.
            }

            await ProcessAsync(grace);
            TopUp();
        }
    }

    private void TopUp()
    {
        while (true)
        {
            Slot slot;
            SubscriptionAcknowledgement[] told;
            lock (gate)
            {
                if (!isRunning || slots.Count - writtenOff >= Target() || time.GetTimestamp() < pausedUntil || session.IsLost)
                {
                    return;
                }

                var count = Math.Min(MaxAcknowledgements, acknowledgements.Count);
                told = [.. acknowledgements[..count]];
                acknowledgements.RemoveRange(0, count);
                slots.Add(slot = new Slot(registrations, time.GetTimestamp()));
            }

            _ = FillAsync(slot, told);
        }
    }

    private async Task FillAsync(Slot slot, SubscriptionAcknowledgement[] told)
    {
        try
        {
            slot.Response = await session.PublishAsync(told, stop);
        }
        catch (Exception e)
        {
            slot.Failure = e;
        }

        slot.IsDone = true;
        completions.Writer.TryWrite(slot);
    }

    /// <param name="registrations">What was registered when the request was sent.</param>
    /// <param name="sent">Stamp.</param>
    private sealed class Slot(int registrations, long sent)
    {
        private volatile bool isDone;

        public int Registrations => registrations;

        public bool IsDone
        {
            get => isDone;
            set => isDone = value;
        }

        public ServiceResponse<PublishResponse> Response { get; set; }

        public Exception? Failure { get; set; }

        public long? OvertakenAt { get; set; }

        public long Sent => sent;

        /// <summary>No answer is expected any more, but one that comes is taken.</summary>
        public bool IsWrittenOff { get; set; }
    }
}
