using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Hears what a subscription tells. Called in order, never by two threads at once. Return soon: while a call lasts, the messages of its connection wait, at
/// most as many as publish requests were sent; then the server's wait too, in its queues. An exception is logged and does not stop the subscription.
/// </summary>
public interface ISubscriptionListener
{
    /// <summary>Values have changed, or are told anew after a loss.</summary>
    void OnNotification(in PublishedNotification notification);

    /// <summary>The server says that nothing has changed since the last message: until <paramref name="publishTime"/> nothing is missing.</summary>
    /// <param name="publishTime">UTC; the server's clock when it made the message.</param>
    /// <param name="sent">Stamp of the <see cref="TimeProvider"/>, before its publish request was sent: the message was made after that. 0: not known.</param>
    /// <param name="received">Stamp of the <see cref="TimeProvider"/>.</param>
    void OnKeepAlive(DateTime publishTime, long sent, long received);

    /// <summary>An item was created, revised or refused, has vanished or is back again.</summary>
    void OnItemChanged(in MonitoredItemState item);

    /// <summary>Nothing is heard of the server any more. What changes from now on is told later, or never: see <see cref="OnResumed"/>.</summary>
    /// <param name="reason">For people.</param>
    /// <param name="stamp">Of the <see cref="TimeProvider"/>, when it was noticed. The last message may be older.</param>
    void OnInterrupted(string reason, long stamp);

    /// <summary>The subscription runs (again). The first time it runs is told too, with <paramref name="continuous"/> false.</summary>
    /// <param name="continuous">
    /// True: the server kept the subscription, and no message is known to be missing. Values that a queue could not hold have the overflow bit beside them,
    /// and should a later message show that one was lost after all, it says so itself. False: values since the interruption may be missing; all items are
    /// told anew.
    /// </param>
    void OnResumed(bool continuous);

    /// <summary>The server's clock was read.</summary>
    void OnClockOffset(in ClockOffset offset);
}

/// <summary>Values that were published together (OPC 10000-4, 7.26), with what is needed to tell when they held.</summary>
/// <param name="Values">By <see cref="MonitoredItemSpec.ClientHandle"/>; every status as the server sent it. Several values of one item are in the order of its queue.</param>
/// <param name="SequenceNumber">0 for values that were read anew after a loss.</param>
/// <param name="PublishTime">UTC; the server's clock when it made the message, or when it answered the read.</param>
/// <param name="Sent">Stamp of the <see cref="TimeProvider"/>, before the request was sent, which may have waited at the server: the message was made after that. 0: not known, for one that was asked for again.</param>
/// <param name="Received">Stamp of the <see cref="TimeProvider"/>, when the answer arrived.</param>
/// <param name="Continuous">False: something between this message and the one before is lost, or this is the first of a new subscription.</param>
/// <param name="Origin">How it came.</param>
/// <param name="MoreFollows">The server has more to tell than fitted; it follows at once.</param>
public readonly record struct PublishedNotification(
    IReadOnlyList<MonitoredItemNotification> Values,
    uint SequenceNumber,
    DateTime PublishTime,
    long Sent,
    long Received,
    bool Continuous,
    NotificationOrigin Origin,
    bool MoreFollows = false);

/// <summary>How a notification came.</summary>
public enum NotificationOrigin
{
    /// <summary>As usual.</summary>
    Published,

    /// <summary>Late: it had been lost on the way and was asked for again.</summary>
    Republished,

    /// <summary>All items were read because messages were lost for good. Changes that were published before and arrive after it may be older: compare source timestamps.</summary>
    ReadAnew,
}

/// <summary>What became of an item.</summary>
/// <param name="Status">Good: it is watched. Bad: it is not, and is tried again every <see cref="UaClientOptions.ItemRetryInterval"/>.</param>
/// <param name="Node">The id that its address was resolved to; the null id if it could not be.</param>
/// <param name="SamplingInterval">As revised by the server; zero: by exception, or as fast as it can.</param>
/// <param name="QueueSize">As revised by the server.</param>
public readonly record struct MonitoredItemState(uint ClientHandle, StatusCode Status, NodeId Node, TimeSpan SamplingInterval, uint QueueSize);
