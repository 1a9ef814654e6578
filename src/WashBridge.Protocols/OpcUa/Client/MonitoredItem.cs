using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>An item of a subscription, and what became of it at the server.</summary>
internal sealed class MonitoredItem(MonitoredItemSpec spec)
{
    public MonitoredItemSpec Spec => spec;

    /// <summary>The null id as long as its address leads nowhere.</summary>
    public NodeId Node { get; set; }

    /// <summary>0: the server has none.</summary>
    public uint ServerId { get; set; }

    public StatusCode Status { get; set; } = StatusCodes.BadWaitingForInitialData;

    public TimeSpan SamplingInterval { get; set; }

    public uint QueueSize { get; set; }

    /// <summary>What the listener was told last; null: nothing yet.</summary>
    public MonitoredItemState? Told { get; set; }

    public bool IsWatched => ServerId != 0 && Status.IsGood;

    public MonitoredItemState State => new(spec.ClientHandle, Status, Node, SamplingInterval, QueueSize);

    public ReadValueId ToReadValueId() => new(Node, spec.AttributeId, spec.IndexRange, default);

    public MonitoredItemCreateRequest ToRequest()
    {
        var needsFilter = spec.DeadBand.Kind != DeadbandKind.None || spec.Trigger != DataChangeTrigger.StatusValue;
        var filter = needsFilter ? ExtensionObject.Of(new DataChangeFilter(spec.Trigger, spec.DeadBand.Kind, spec.DeadBand.Value)) : default;
        return new MonitoredItemCreateRequest(
            ToReadValueId(),
            MonitoringMode.Reporting,
            new MonitoringParameters(spec.ClientHandle, spec.SamplingInterval?.TotalMilliseconds ?? -1, filter, spec.QueueSize, spec.DiscardOldest));
    }

    public void Refuse(StatusCode status) => (Status, ServerId, SamplingInterval, QueueSize) = (status, 0, default, 0);

    public void Take(MonitoredItemCreateResult result)
    {
        if (result.Status.IsBad)
        {
            Refuse(result.Status);
            return;
        }

        (Status, ServerId, QueueSize) = (result.Status, result.MonitoredItemId, result.RevisedQueueSize);
        SamplingInterval = result.RevisedSamplingInterval > 0 ? SubscriptionTimes.Interval(result.RevisedSamplingInterval) : TimeSpan.Zero;
    }
}
