using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>Whether an item is sampled and reported (OPC 10000-4, 7.22).</summary>
public enum MonitoringMode
{
    Disabled = 0,
    Sampling = 1,
    Reporting = 2,
}

/// <summary>What counts as a change (OPC 10000-4, 7.22.2).</summary>
public enum DataChangeTrigger
{
    Status = 0,
    StatusValue = 1,
    StatusValueTimestamp = 2,
}

/// <summary>How small changes are left out (OPC 10000-4, 7.22.2).</summary>
public enum DeadbandKind : uint
{
    None = 0,
    Absolute = 1,
    Percent = 2,
}

/// <summary>Which changes are reported (OPC 10000-4, 7.22.2).</summary>
/// <param name="DeadbandValue">In the value's unit, or percent of its EURange.</param>
public sealed record DataChangeFilter(DataChangeTrigger Trigger, DeadbandKind DeadbandType, double DeadbandValue) : IEncodable<DataChangeFilter>
{
    public static uint EncodingId => 724;

    public void Write(UaWriter writer)
    {
        writer.WriteInt32((int)Trigger);
        writer.WriteUInt32((uint)DeadbandType);
        writer.WriteDouble(DeadbandValue);
    }

    public static DataChangeFilter Read(ref UaReader reader) => new(
        (DataChangeTrigger)reader.ReadInt32(),
        (DeadbandKind)reader.ReadUInt32(),
        reader.ReadDouble());
}

/// <summary>How an item is sampled (OPC 10000-4, 7.21).</summary>
/// <param name="SamplingInterval">Milliseconds; 0: as fast as possible; -1: the publishing interval.</param>
public sealed record MonitoringParameters(
    uint ClientHandle,
    double SamplingInterval,
    ExtensionObject Filter,
    uint QueueSize,
    bool DiscardOldest)
    : IStructure<MonitoringParameters>
{
    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(ClientHandle);
        writer.WriteDouble(SamplingInterval);
        writer.WriteExtensionObject(Filter);
        writer.WriteUInt32(QueueSize);
        writer.WriteBoolean(DiscardOldest);
    }

    public static MonitoringParameters Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        reader.ReadDouble(),
        reader.ReadExtensionObject(),
        reader.ReadUInt32(),
        reader.ReadBoolean());
}

/// <summary>An item to monitor (OPC 10000-4, 5.13.2).</summary>
public sealed record MonitoredItemCreateRequest(
    ReadValueId Item,
    MonitoringMode Mode,
    MonitoringParameters Parameters)
    : IStructure<MonitoredItemCreateRequest>
{
    public void Write(UaWriter writer)
    {
        Item.Write(writer);
        writer.WriteInt32((int)Mode);
        Parameters.Write(writer);
    }

    public static MonitoredItemCreateRequest Read(ref UaReader reader) => new(
        ReadValueId.Read(ref reader),
        (MonitoringMode)reader.ReadInt32(),
        MonitoringParameters.Read(ref reader));
}

/// <summary>What the server made of it (OPC 10000-4, 5.13.2).</summary>
/// <param name="RevisedSamplingInterval">Milliseconds.</param>
public sealed record MonitoredItemCreateResult(
    StatusCode Status,
    uint MonitoredItemId,
    double RevisedSamplingInterval,
    uint RevisedQueueSize,
    ExtensionObject FilterResult)
    : IStructure<MonitoredItemCreateResult>
{
    public void Write(UaWriter writer)
    {
        writer.WriteStatusCode(Status);
        writer.WriteUInt32(MonitoredItemId);
        writer.WriteDouble(RevisedSamplingInterval);
        writer.WriteUInt32(RevisedQueueSize);
        writer.WriteExtensionObject(FilterResult);
    }

    public static MonitoredItemCreateResult Read(ref UaReader reader) => new(
        reader.ReadStatusCode(),
        reader.ReadUInt32(),
        reader.ReadDouble(),
        reader.ReadUInt32(),
        reader.ReadExtensionObject());
}

/// <summary>Adds items to a subscription (OPC 10000-4, 5.13.2).</summary>
public sealed record CreateMonitoredItemsRequest(
    uint SubscriptionId,
    TimestampsToReturn Timestamps,
    IReadOnlyList<MonitoredItemCreateRequest> Items)
    : IRequest<CreateMonitoredItemsRequest, CreateMonitoredItemsResponse>
{
    public static uint EncodingId => 751;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteInt32((int)Timestamps);
        writer.WriteArray(Items);
    }

    public static CreateMonitoredItemsRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        (TimestampsToReturn)reader.ReadInt32(),
        reader.ReadArray<MonitoredItemCreateRequest>());
}

/// <summary>Answer to <see cref="CreateMonitoredItemsRequest"/>.</summary>
public sealed record CreateMonitoredItemsResponse(IReadOnlyList<MonitoredItemCreateResult> Results) : IEncodable<CreateMonitoredItemsResponse>
{
    public static uint EncodingId => 754;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results);
        writer.WriteInt32(0); // diagnostics
    }

    public static CreateMonitoredItemsResponse Read(ref UaReader reader)
    {
        var message = new CreateMonitoredItemsResponse(
            reader.ReadArray<MonitoredItemCreateResult>());
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>An item to change (OPC 10000-4, 5.13.3).</summary>
public sealed record MonitoredItemModifyRequest(uint MonitoredItemId, MonitoringParameters Parameters) : IStructure<MonitoredItemModifyRequest>
{
    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(MonitoredItemId);
        Parameters.Write(writer);
    }

    public static MonitoredItemModifyRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        MonitoringParameters.Read(ref reader));
}

/// <summary>What the server made of it (OPC 10000-4, 5.13.3).</summary>
public sealed record MonitoredItemModifyResult(
    StatusCode Status,
    double RevisedSamplingInterval,
    uint RevisedQueueSize,
    ExtensionObject FilterResult)
    : IStructure<MonitoredItemModifyResult>
{
    public void Write(UaWriter writer)
    {
        writer.WriteStatusCode(Status);
        writer.WriteDouble(RevisedSamplingInterval);
        writer.WriteUInt32(RevisedQueueSize);
        writer.WriteExtensionObject(FilterResult);
    }

    public static MonitoredItemModifyResult Read(ref UaReader reader) => new(
        reader.ReadStatusCode(),
        reader.ReadDouble(),
        reader.ReadUInt32(),
        reader.ReadExtensionObject());
}

/// <summary>Changes items (OPC 10000-4, 5.13.3).</summary>
public sealed record ModifyMonitoredItemsRequest(
    uint SubscriptionId,
    TimestampsToReturn Timestamps,
    IReadOnlyList<MonitoredItemModifyRequest> Items)
    : IRequest<ModifyMonitoredItemsRequest, ModifyMonitoredItemsResponse>
{
    public static uint EncodingId => 763;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteInt32((int)Timestamps);
        writer.WriteArray(Items);
    }

    public static ModifyMonitoredItemsRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        (TimestampsToReturn)reader.ReadInt32(),
        reader.ReadArray<MonitoredItemModifyRequest>());
}

/// <summary>Answer to <see cref="ModifyMonitoredItemsRequest"/>.</summary>
public sealed record ModifyMonitoredItemsResponse(IReadOnlyList<MonitoredItemModifyResult> Results) : IEncodable<ModifyMonitoredItemsResponse>
{
    public static uint EncodingId => 766;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results);
        writer.WriteInt32(0); // diagnostics
    }

    public static ModifyMonitoredItemsResponse Read(ref UaReader reader)
    {
        var message = new ModifyMonitoredItemsResponse(
            reader.ReadArray<MonitoredItemModifyResult>());
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>Switches items on and off (OPC 10000-4, 5.13.4).</summary>
public sealed record SetMonitoringModeRequest(
    uint SubscriptionId,
    MonitoringMode Mode,
    IReadOnlyList<uint> MonitoredItemIds)
    : IRequest<SetMonitoringModeRequest, SetMonitoringModeResponse>
{
    public static uint EncodingId => 769;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteInt32((int)Mode);
        writer.WriteArray(MonitoredItemIds, static (w, e) => w.WriteUInt32(e));
    }

    public static SetMonitoringModeRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        (MonitoringMode)reader.ReadInt32(),
        reader.ReadArray(static (ref UaReader r) => r.ReadUInt32()));
}

/// <summary>Answer to <see cref="SetMonitoringModeRequest"/>.</summary>
public sealed record SetMonitoringModeResponse(IReadOnlyList<StatusCode> Results) : IEncodable<SetMonitoringModeResponse>
{
    public static uint EncodingId => 772;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results, static (w, e) => w.WriteStatusCode(e));
        writer.WriteInt32(0); // diagnostics
    }

    public static SetMonitoringModeResponse Read(ref UaReader reader)
    {
        var message = new SetMonitoringModeResponse(
            reader.ReadArray(static (ref UaReader r) => r.ReadStatusCode()));
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>Removes items (OPC 10000-4, 5.13.6).</summary>
public sealed record DeleteMonitoredItemsRequest(
    uint SubscriptionId,
    IReadOnlyList<uint> MonitoredItemIds)
    : IRequest<DeleteMonitoredItemsRequest, DeleteMonitoredItemsResponse>
{
    public static uint EncodingId => 781;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteArray(MonitoredItemIds, static (w, e) => w.WriteUInt32(e));
    }

    public static DeleteMonitoredItemsRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        reader.ReadArray(static (ref UaReader r) => r.ReadUInt32()));
}

/// <summary>Answer to <see cref="DeleteMonitoredItemsRequest"/>.</summary>
public sealed record DeleteMonitoredItemsResponse(IReadOnlyList<StatusCode> Results) : IEncodable<DeleteMonitoredItemsResponse>
{
    public static uint EncodingId => 784;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results, static (w, e) => w.WriteStatusCode(e));
        writer.WriteInt32(0); // diagnostics
    }

    public static DeleteMonitoredItemsResponse Read(ref UaReader reader)
    {
        var message = new DeleteMonitoredItemsResponse(
            reader.ReadArray(static (ref UaReader r) => r.ReadStatusCode()));
        reader.SkipDiagnostics();
        return message;
    }
}
