using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>What a subscription tells (OPC 10000-4, 7.25).</summary>
public abstract record Notification
{
    internal abstract void WriteExtension(UaWriter writer);

    internal static Notification? Read(NodeId encodingId, ref UaReader body) => encodingId switch
    {
        _ when encodingId == new NodeId(DataChangeNotification.EncodingId) => DataChangeNotification.Read(ref body),
        _ when encodingId == new NodeId(StatusChangeNotification.EncodingId) => StatusChangeNotification.Read(ref body),
        _ => null,
    };
}

/// <summary>A value of one monitored item (OPC 10000-4, 7.25.2).</summary>
public readonly record struct MonitoredItemNotification(uint ClientHandle, DataValue Value) : IStructure<MonitoredItemNotification>
{
    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(ClientHandle);
        writer.WriteDataValue(Value);
    }

    public static MonitoredItemNotification Read(ref UaReader reader) => new(reader.ReadUInt32(), reader.ReadDataValue());
}

/// <summary>Values of monitored items (OPC 10000-4, 7.25.2).</summary>
public sealed record DataChangeNotification(IReadOnlyList<MonitoredItemNotification> Items) : Notification, IEncodable<DataChangeNotification>
{
    public static uint EncodingId => 811;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Items, static (w, item) => item.Write(w));
        writer.WriteInt32(0); // diagnostics
    }

    public static DataChangeNotification Read(ref UaReader reader)
    {
        var message = new DataChangeNotification(reader.ReadArray<MonitoredItemNotification>());
        reader.SkipDiagnostics();
        return message;
    }

    internal override void WriteExtension(UaWriter writer) => writer.WriteExtension(this);
}

/// <summary>The subscription itself changed, as when it ended or was transferred (OPC 10000-4, 7.25.4).</summary>
public sealed record StatusChangeNotification(StatusCode Status) : Notification, IEncodable<StatusChangeNotification>
{
    public static uint EncodingId => 820;

    public void Write(UaWriter writer)
    {
        writer.WriteStatusCode(Status);
        writer.WriteDiagnosticInfo(null);
    }

    public static StatusChangeNotification Read(ref UaReader reader)
    {
        var message = new StatusChangeNotification(reader.ReadStatusCode());
        reader.ReadDiagnosticInfo();
        return message;
    }

    internal override void WriteExtension(UaWriter writer) => writer.WriteExtension(this);
}

/// <summary>Notifications that were sent together (OPC 10000-4, 7.26).</summary>
/// <param name="SequenceNumber">Of this message, or in a keep-alive of the next one.</param>
/// <param name="PublishTime">UTC.</param>
/// <param name="Notifications">None: a keep-alive. Kinds not known here are left out.</param>
public sealed record NotificationMessage(uint SequenceNumber, DateTime PublishTime, IReadOnlyList<Notification> Notifications) : IStructure<NotificationMessage>
{
    /// <summary>There was nothing to tell. A message of unknown kinds is none.</summary>
    public bool IsKeepAlive { get; init; } = Notifications.Count == 0;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SequenceNumber);
        writer.WriteDateTime(PublishTime);
        writer.WriteArray(Notifications, static (w, notification) => notification.WriteExtension(w));
    }

    public static NotificationMessage Read(ref UaReader reader)
    {
        var sequenceNumber = reader.ReadUInt32();
        var publishTime = reader.ReadDateTime();
        var notifications = reader.ReadArray(static (ref UaReader r) => r.ReadExtension(Notification.Read));
        return new NotificationMessage(sequenceNumber, publishTime, [.. notifications.OfType<Notification>()]) { IsKeepAlive = notifications.Length == 0 };
    }
}
