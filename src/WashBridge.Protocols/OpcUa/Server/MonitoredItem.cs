using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// An item of a subscription (OPC 10000-4, 5.13.1). Variables offer it every value that is set; it takes at most one for each sampling interval,
/// the latest, so that a queue fills as if somebody had looked at the variable so often. Attributes, and values that are computed when read,
/// are looked at instead (<see cref="Poll"/>).
/// </summary>
/// <remarks>Its own lock is the innermost of all: under it nothing else is called.</remarks>
internal sealed class MonitoredItem(uint id, ReadValueId target, IndexRange? range, bool isPolled, TimeProvider time) : INodeWatcher
{
    private readonly Lock gate = new();
    private ItemSettings settings = new();
    private ValueQueue queue = new(1, discardOldest: true);
    private DataValue last;
    private bool hasLast;
    private DataValue pending;
    private bool hasPending;
    private long lastSample;
    private volatile bool hasValues;

    public uint Id => id;

    public ReadValueId Target => target;

    public bool IsPolled => isPolled;

    public MonitoringMode Mode => settings.Mode;

    public ItemSettings Settings
    {
        get
        {
            lock (gate)
            {
                return settings;
            }
        }
    }

    /// <summary>Changes what the client can change; values that are queued stay, as many as fit.</summary>
    public void Apply(ItemSettings next)
    {
        lock (gate)
        {
            settings = next;
            if (queue.Capacity != next.QueueSize)
            {
                queue = queue.Resized(next.QueueSize, next.DiscardOldest);
            }

            if (next.Mode == MonitoringMode.Disabled)
            {
                queue.Clear();
                (hasLast, hasPending, hasValues) = (false, false, false);
            }
        }
    }

    public void Offer(in DataValue value, long instant)
    {
        lock (gate)
        {
            if (settings.Mode == MonitoringMode.Disabled)
            {
                return;
            }

            TakePending(instant);
            if (!hasLast || instant - lastSample >= settings.SamplingTicks)
            {
                lastSample = instant;
                Sample(value);
            }
            else
            {
                (pending, hasPending, hasValues) = (value, true, true);
            }
        }
    }

    /// <summary>Looks at what nobody offers, if the sampling interval is over.</summary>
    public void Poll(AddressSpace space)
    {
        if (settings.Mode == MonitoringMode.Disabled || (hasLast && time.GetTimestamp() - lastSample < settings.SamplingTicks))
        {
            return;
        }

        var now = time.GetUtcNow().UtcDateTime;
        var value = AttributeReader.Read(space, target, range: null);
        Offer(value with { ServerTimestamp = value.ServerTimestamp ?? now }, time.GetTimestamp());
    }

    /// <summary>Whether there is something to report now.</summary>
    public bool IsReady(long instant)
    {
        if (!hasValues || settings.Mode != MonitoringMode.Reporting)
        {
            return false;
        }

        lock (gate)
        {
            TakePending(instant);
            return queue.Count > 0;
        }
    }

    /// <summary>Adds what is queued, the oldest first, until there are <paramref name="max"/> notifications.</summary>
    /// <returns>Whether all of it was added.</returns>
    public bool Drain(List<MonitoredItemNotification> into, int max, long instant)
    {
        if (!hasValues || settings.Mode != MonitoringMode.Reporting)
        {
            return true;
        }

        lock (gate)
        {
            TakePending(instant);
            while (queue.Count > 0)
            {
                if (into.Count >= max)
                {
                    return false;
                }

                into.Add(new MonitoredItemNotification(settings.ClientHandle, Timestamps.Select(queue.Dequeue(), settings.Timestamps)));
            }

            hasValues = hasPending;
            return true;
        }
    }

    /// <summary>Queues the last value anew, if none is queued: for a client that has taken the subscription over (OPC 10000-4, 5.14.7).</summary>
    public void Repeat()
    {
        lock (gate)
        {
            if (hasLast && queue.Count == 0)
            {
                queue.Enqueue(last);
                hasValues = true;
            }
        }
    }

    /// <summary>A value that waited for its sampling interval was the latest when that ended.</summary>
    private void TakePending(long instant)
    {
        if (hasPending && instant - lastSample >= settings.SamplingTicks)
        {
            hasPending = false;
            lastSample += settings.SamplingTicks;
            Sample(pending);
        }
    }

    private void Sample(in DataValue value)
    {
        var next = AttributeReader.CheckEncoding(target, value) is { IsBad: true } status
            ? value with { Value = default, Status = status }
            : AttributeReader.Cut(value, range);
        if (hasLast && !settings.Filter.IsChange(last, next))
        {
            return;
        }

        (last, hasLast) = (next, true);
        queue.Enqueue(next);
        hasValues = true;
    }
}

/// <summary>What a client can change of an item.</summary>
internal sealed record ItemSettings
{
    public MonitoringMode Mode { get; init; }

    public uint ClientHandle { get; init; }

    public TimestampsToReturn Timestamps { get; init; }

    /// <summary>Milliseconds, as told to the client.</summary>
    public double SamplingInterval { get; init; }

    /// <summary>The same in ticks of the TimeProvider's monotonic clock.</summary>
    public long SamplingTicks { get; init; }

    public int QueueSize { get; init; } = 1;

    public bool DiscardOldest { get; init; } = true;

    public ChangeFilter Filter { get; init; } = ChangeFilter.Default;
}
