using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

internal sealed partial class ScriptedServer
{
    private readonly Dictionary<uint, ScriptedSubscription> subscriptions = [];

    public IReadOnlyList<ScriptedSubscription> Subscriptions => [.. subscriptions.Values];

    public ScriptedSubscription Subscription => subscriptions.Values.Last();

    public List<SubscriptionAcknowledgement> Acknowledged { get; } = [];

    public int MaxPublishRequests { get; set; } = int.MaxValue;

    public bool TransferIsRefused { get; set; }

    /// <summary>Waiting publish requests of all sessions.</summary>
    public int WaitingPublishRequests => sessions.Values.Sum(s => s.Waiting.Count);

    /// <summary>Holds answers back until the test delivers them.</summary>
    public Action<Action>? OnPublishAnswer { get; set; }

    public Func<CreateSubscriptionRequest, CreateSubscriptionResponse, CreateSubscriptionResponse> Revise { get; set; } = static (_, given) => given;

    public Func<MonitoredItemCreateRequest, MonitoredItemCreateResult, MonitoredItemCreateResult> ReviseItem { get; set; } = static (_, given) => given;

    /// <summary>Sends values as soon as a publish request waits.</summary>
    public void Publish(ScriptedSubscription subscription, params (uint Handle, DataValue Value)[] values) =>
        Send(subscription, MessageOf(subscription, values), isLost: false);

    /// <summary>As <see cref="Publish"/>, but the message gets lost on the way: it can only be asked for again.</summary>
    public void Lose(ScriptedSubscription subscription, params (uint Handle, DataValue Value)[] values) =>
        Send(subscription, MessageOf(subscription, values), isLost: true);

    public void KeepAlive(ScriptedSubscription subscription) =>
        Send(subscription, new NotificationMessage(subscription.NextSequence, Now, []), isLost: false);

    public void End(ScriptedSubscription subscription, StatusCode status)
    {
        Send(subscription, new NotificationMessage(subscription.TakeSequence(), Now, [new StatusChangeNotification(status)]), isLost: false);
        subscriptions.Remove(subscription.Id);
    }

    public void Forget(ScriptedSubscription subscription) => subscriptions.Remove(subscription.Id);

    /// <summary>Every waiting publish request gets this answer; null: they are lost.</summary>
    public void AnswerWaiting(object? answer)
    {
        foreach (var session in sessions.Values)
        {
            while (session.Waiting.TryDequeue(out var waiting))
            {
                if (answer is not null)
                {
                    waiting(answer);
                }
            }
        }
    }

    private NotificationMessage MessageOf(ScriptedSubscription subscription, (uint Handle, DataValue Value)[] values) => new(
        subscription.TakeSequence(), Now, [new DataChangeNotification([.. values.Select(v => new MonitoredItemNotification(v.Handle, v.Value))])]);

    private void Send(ScriptedSubscription subscription, NotificationMessage message, bool isLost)
    {
        if (!message.IsKeepAlive)
        {
            subscription.Kept[message.SequenceNumber] = message;
        }

        if (!isLost)
        {
            subscription.Unsent.Enqueue(message);
            Pump(subscription);
        }
    }

    private void Pump(ScriptedSubscription subscription)
    {
        while (subscription.Unsent.Count > 0 && subscription.Session is { Channel.IsOpen: true, Channel.IsStalled: false } session && session.Waiting.TryDequeue(out var answer))
        {
            var message = subscription.Unsent.Dequeue();
            var response = new PublishResponse(subscription.Id, [.. subscription.Kept.Keys], subscription.Unsent.Count > 0, message, []);
            if (OnPublishAnswer is { } hold)
            {
                hold(() => answer(response));
            }
            else
            {
                answer(response);
            }
        }
    }

    private void TakePublish(ScriptedSession session, PublishRequest request, Action<object> answer)
    {
        Acknowledged.AddRange(request.Acknowledgements);
        foreach (var acknowledged in request.Acknowledgements)
        {
            if (subscriptions.TryGetValue(acknowledged.SubscriptionId, out var known))
            {
                known.Kept.Remove(acknowledged.SequenceNumber);
            }
        }

        var own = subscriptions.Values.Where(s => s.Session == session).ToArray();
        if (own.Length == 0)
        {
            throw Refusal(StatusCodes.BadNoSubscription);
        }

        session.Waiting.Enqueue(answer);
        if (session.Waiting.Count > MaxPublishRequests)
        {
            session.Waiting.Dequeue()(Refusal(StatusCodes.BadTooManyPublishRequests));
        }

        foreach (var subscription in own)
        {
            Pump(subscription);
        }
    }

    private CreateSubscriptionResponse Create(CreateSubscriptionRequest request, ScriptedSession session)
    {
        var subscription = new ScriptedSubscription(++lastId) { Session = session };
        subscriptions.Add(subscription.Id, subscription);
        return Revise(request, new CreateSubscriptionResponse(subscription.Id, request.RequestedPublishingInterval, request.RequestedLifetimeCount, request.RequestedMaxKeepAliveCount));
    }

    private ModifySubscriptionResponse Modify(ModifySubscriptionRequest request)
    {
        Known(request.SubscriptionId);
        return new ModifySubscriptionResponse(request.RequestedPublishingInterval, request.RequestedLifetimeCount, request.RequestedMaxKeepAliveCount);
    }

    private DeleteSubscriptionsResponse Delete(DeleteSubscriptionsRequest request) =>
        new([.. request.SubscriptionIds.Select(id => subscriptions.Remove(id) ? StatusCodes.Good : StatusCodes.BadSubscriptionIdInvalid)]);

    private CreateMonitoredItemsResponse Create(CreateMonitoredItemsRequest request)
    {
        CheckCount(request.Items.Count);
        var subscription = Known(request.SubscriptionId);
        List<(uint, DataValue)> initial = [];
        List<MonitoredItemCreateResult> results = [];
        foreach (var item in request.Items)
        {
            var parameters = item.Parameters;
            var exists = Nodes.TryGetValue(item.Item.NodeId, out var value);
            var result = exists
                ? new MonitoredItemCreateResult(StatusCodes.Good, ++lastId, parameters.SamplingInterval, parameters.QueueSize, default)
                : new MonitoredItemCreateResult(StatusCodes.BadNodeIdUnknown, 0, 0, 0, default);
            result = ReviseItem(item, result);
            results.Add(result);
            if (!result.Status.IsBad)
            {
                subscription.Items[result.MonitoredItemId] = item;
                initial.Add((parameters.ClientHandle, value));
            }
        }

        if (initial.Count > 0)
        {
            Publish(subscription, [.. initial]);
        }

        return new CreateMonitoredItemsResponse(results);
    }

    private DeleteMonitoredItemsResponse Delete(DeleteMonitoredItemsRequest request)
    {
        var subscription = Known(request.SubscriptionId);
        return new DeleteMonitoredItemsResponse([.. request.MonitoredItemIds.Select(id => subscription.Items.Remove(id) ? StatusCodes.Good : StatusCodes.BadMonitoredItemIdInvalid)]);
    }

    private RepublishResponse Republish(RepublishRequest request, ScriptedSession session)
    {
        var subscription = Known(request.SubscriptionId);
        if (subscription.Session != session)
        {
            throw Refusal(StatusCodes.BadSubscriptionIdInvalid);
        }

        return subscription.Kept.TryGetValue(request.RetransmitSequenceNumber, out var message)
            ? new RepublishResponse(message)
            : throw Refusal(StatusCodes.BadMessageNotAvailable);
    }

    private TransferSubscriptionsResponse Transfer(TransferSubscriptionsRequest request, ScriptedSession session) => new([.. request.SubscriptionIds.Select(id =>
    {
        if (TransferIsRefused || !subscriptions.TryGetValue(id, out var subscription))
        {
            return new TransferResult(TransferIsRefused ? StatusCodes.BadUserAccessDenied : StatusCodes.BadSubscriptionIdInvalid, []);
        }

        subscription.Session = session;
        return new TransferResult(StatusCodes.Good, [.. subscription.Kept.Keys]);
    })]);

    private ScriptedSubscription Known(uint id) => subscriptions.GetValueOrDefault(id) ?? throw Refusal(StatusCodes.BadSubscriptionIdInvalid);

    internal sealed class ScriptedSubscription(uint id)
    {
        public uint Id => id;

        public uint NextSequence { get; set; } = 1;

        /// <summary>By monitored item id.</summary>
        public Dictionary<uint, MonitoredItemCreateRequest> Items { get; } = [];

        /// <summary>Sent, not acknowledged: can be asked for again.</summary>
        public SortedDictionary<uint, NotificationMessage> Kept { get; } = [];

        public Queue<NotificationMessage> Unsent { get; } = new();

        internal ScriptedSession? Session { get; set; }

        public uint TakeSequence()
        {
            var taken = NextSequence;
            NextSequence = taken == uint.MaxValue ? 1 : taken + 1;
            return taken;
        }
    }
}
