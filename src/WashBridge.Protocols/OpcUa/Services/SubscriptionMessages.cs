using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>Begins a subscription (OPC 10000-4, 5.14.2).</summary>
/// <param name="RequestedPublishingInterval">Milliseconds.</param>
/// <param name="RequestedLifetimeCount">Publishing intervals without a publish request until it ends; at least 3 times the keep-alive count.</param>
/// <param name="RequestedMaxKeepAliveCount">Publishing intervals without a change until a keep-alive is sent.</param>
/// <param name="MaxNotificationsPerPublish">0: no limit.</param>
public sealed record CreateSubscriptionRequest(
    double RequestedPublishingInterval,
    uint RequestedLifetimeCount,
    uint RequestedMaxKeepAliveCount,
    uint MaxNotificationsPerPublish,
    bool PublishingEnabled,
    byte Priority)
    : IRequest<CreateSubscriptionRequest, CreateSubscriptionResponse>
{
    public static uint EncodingId => 787;

    public void Write(UaWriter writer)
    {
        writer.WriteDouble(RequestedPublishingInterval);
        writer.WriteUInt32(RequestedLifetimeCount);
        writer.WriteUInt32(RequestedMaxKeepAliveCount);
        writer.WriteUInt32(MaxNotificationsPerPublish);
        writer.WriteBoolean(PublishingEnabled);
        writer.WriteByte(Priority);
    }

    public static CreateSubscriptionRequest Read(ref UaReader reader) => new(
        reader.ReadDouble(),
        reader.ReadUInt32(),
        reader.ReadUInt32(),
        reader.ReadUInt32(),
        reader.ReadBoolean(),
        reader.ReadByte());
}

/// <summary>Answer to <see cref="CreateSubscriptionRequest"/>.</summary>
public sealed record CreateSubscriptionResponse(
    uint SubscriptionId,
    double RevisedPublishingInterval,
    uint RevisedLifetimeCount,
    uint RevisedMaxKeepAliveCount)
    : IEncodable<CreateSubscriptionResponse>
{
    public static uint EncodingId => 790;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteDouble(RevisedPublishingInterval);
        writer.WriteUInt32(RevisedLifetimeCount);
        writer.WriteUInt32(RevisedMaxKeepAliveCount);
    }

    public static CreateSubscriptionResponse Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        reader.ReadDouble(),
        reader.ReadUInt32(),
        reader.ReadUInt32());
}

/// <summary>Changes a subscription (OPC 10000-4, 5.14.3).</summary>
public sealed record ModifySubscriptionRequest(
    uint SubscriptionId,
    double RequestedPublishingInterval,
    uint RequestedLifetimeCount,
    uint RequestedMaxKeepAliveCount,
    uint MaxNotificationsPerPublish,
    byte Priority)
    : IRequest<ModifySubscriptionRequest, ModifySubscriptionResponse>
{
    public static uint EncodingId => 793;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteDouble(RequestedPublishingInterval);
        writer.WriteUInt32(RequestedLifetimeCount);
        writer.WriteUInt32(RequestedMaxKeepAliveCount);
        writer.WriteUInt32(MaxNotificationsPerPublish);
        writer.WriteByte(Priority);
    }

    public static ModifySubscriptionRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        reader.ReadDouble(),
        reader.ReadUInt32(),
        reader.ReadUInt32(),
        reader.ReadUInt32(),
        reader.ReadByte());
}

/// <summary>Answer to <see cref="ModifySubscriptionRequest"/>.</summary>
public sealed record ModifySubscriptionResponse(
    double RevisedPublishingInterval,
    uint RevisedLifetimeCount,
    uint RevisedMaxKeepAliveCount)
    : IEncodable<ModifySubscriptionResponse>
{
    public static uint EncodingId => 796;

    public void Write(UaWriter writer)
    {
        writer.WriteDouble(RevisedPublishingInterval);
        writer.WriteUInt32(RevisedLifetimeCount);
        writer.WriteUInt32(RevisedMaxKeepAliveCount);
    }

    public static ModifySubscriptionResponse Read(ref UaReader reader) => new(
        reader.ReadDouble(),
        reader.ReadUInt32(),
        reader.ReadUInt32());
}

/// <summary>Switches publishing on and off (OPC 10000-4, 5.14.4).</summary>
public sealed record SetPublishingModeRequest(
    bool PublishingEnabled,
    IReadOnlyList<uint> SubscriptionIds)
    : IRequest<SetPublishingModeRequest, SetPublishingModeResponse>
{
    public static uint EncodingId => 799;

    public void Write(UaWriter writer)
    {
        writer.WriteBoolean(PublishingEnabled);
        writer.WriteArray(SubscriptionIds, static (w, e) => w.WriteUInt32(e));
    }

    public static SetPublishingModeRequest Read(ref UaReader reader) => new(
        reader.ReadBoolean(),
        reader.ReadArray(static (ref UaReader r) => r.ReadUInt32()));
}

/// <summary>Answer to <see cref="SetPublishingModeRequest"/>.</summary>
public sealed record SetPublishingModeResponse(IReadOnlyList<StatusCode> Results) : IEncodable<SetPublishingModeResponse>
{
    public static uint EncodingId => 802;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results, static (w, e) => w.WriteStatusCode(e));
        writer.WriteInt32(0); // diagnostics
    }

    public static SetPublishingModeResponse Read(ref UaReader reader)
    {
        var message = new SetPublishingModeResponse(
            reader.ReadArray(static (ref UaReader r) => r.ReadStatusCode()));
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>A notification message that has arrived (OPC 10000-4, 5.14.5).</summary>
public readonly record struct SubscriptionAcknowledgement(uint SubscriptionId, uint SequenceNumber) : IStructure<SubscriptionAcknowledgement>
{
    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteUInt32(SequenceNumber);
    }

    public static SubscriptionAcknowledgement Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        reader.ReadUInt32());
}

/// <summary>Lets the server send one notification message, whenever it has one (OPC 10000-4, 5.14.5).</summary>
public sealed record PublishRequest(IReadOnlyList<SubscriptionAcknowledgement> Acknowledgements) : IRequest<PublishRequest, PublishResponse>
{
    public static uint EncodingId => 826;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Acknowledgements);
    }

    public static PublishRequest Read(ref UaReader reader) => new(
        reader.ReadArray<SubscriptionAcknowledgement>());
}

/// <summary>Answer to <see cref="PublishRequest"/>.</summary>
/// <param name="AvailableSequenceNumbers">Messages that can be asked for again.</param>
/// <param name="MoreNotifications">The server has more than fitted.</param>
/// <param name="Results">Of the acknowledgements.</param>
public sealed record PublishResponse(
    uint SubscriptionId,
    IReadOnlyList<uint> AvailableSequenceNumbers,
    bool MoreNotifications,
    NotificationMessage Message,
    IReadOnlyList<StatusCode> Results)
    : IEncodable<PublishResponse>
{
    public static uint EncodingId => 829;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteArray(AvailableSequenceNumbers, static (w, e) => w.WriteUInt32(e));
        writer.WriteBoolean(MoreNotifications);
        Message.Write(writer);
        writer.WriteArray(Results, static (w, e) => w.WriteStatusCode(e));
        writer.WriteInt32(0); // diagnostics
    }

    public static PublishResponse Read(ref UaReader reader)
    {
        var message = new PublishResponse(
            reader.ReadUInt32(),
            reader.ReadArray(static (ref UaReader r) => r.ReadUInt32()),
            reader.ReadBoolean(),
            NotificationMessage.Read(ref reader),
            reader.ReadArray(static (ref UaReader r) => r.ReadStatusCode()));
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>Asks for a notification message again (OPC 10000-4, 5.14.6).</summary>
public sealed record RepublishRequest(uint SubscriptionId, uint RetransmitSequenceNumber) : IRequest<RepublishRequest, RepublishResponse>
{
    public static uint EncodingId => 832;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(SubscriptionId);
        writer.WriteUInt32(RetransmitSequenceNumber);
    }

    public static RepublishRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        reader.ReadUInt32());
}

/// <summary>Answer to <see cref="RepublishRequest"/>.</summary>
public sealed record RepublishResponse(NotificationMessage Message) : IEncodable<RepublishResponse>
{
    public static uint EncodingId => 835;

    public void Write(UaWriter writer)
    {
        Message.Write(writer);
    }

    public static RepublishResponse Read(ref UaReader reader) => new(
        NotificationMessage.Read(ref reader));
}

/// <summary>Takes subscriptions over from another session (OPC 10000-4, 5.14.7).</summary>
public sealed record TransferSubscriptionsRequest(
    IReadOnlyList<uint> SubscriptionIds,
    bool SendInitialValues)
    : IRequest<TransferSubscriptionsRequest, TransferSubscriptionsResponse>
{
    public static uint EncodingId => 841;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(SubscriptionIds, static (w, e) => w.WriteUInt32(e));
        writer.WriteBoolean(SendInitialValues);
    }

    public static TransferSubscriptionsRequest Read(ref UaReader reader) => new(
        reader.ReadArray(static (ref UaReader r) => r.ReadUInt32()),
        reader.ReadBoolean());
}

/// <summary>How the transfer of one subscription went (OPC 10000-4, 5.14.7).</summary>
public sealed record TransferResult(StatusCode Status, IReadOnlyList<uint> AvailableSequenceNumbers) : IStructure<TransferResult>
{
    public void Write(UaWriter writer)
    {
        writer.WriteStatusCode(Status);
        writer.WriteArray(AvailableSequenceNumbers, static (w, e) => w.WriteUInt32(e));
    }

    public static TransferResult Read(ref UaReader reader) => new(
        reader.ReadStatusCode(),
        reader.ReadArray(static (ref UaReader r) => r.ReadUInt32()));
}

/// <summary>Answer to <see cref="TransferSubscriptionsRequest"/>.</summary>
public sealed record TransferSubscriptionsResponse(IReadOnlyList<TransferResult> Results) : IEncodable<TransferSubscriptionsResponse>
{
    public static uint EncodingId => 844;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results);
        writer.WriteInt32(0); // diagnostics
    }

    public static TransferSubscriptionsResponse Read(ref UaReader reader)
    {
        var message = new TransferSubscriptionsResponse(
            reader.ReadArray<TransferResult>());
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>Ends subscriptions (OPC 10000-4, 5.14.8).</summary>
public sealed record DeleteSubscriptionsRequest(
    IReadOnlyList<uint> SubscriptionIds)
    : IRequest<DeleteSubscriptionsRequest, DeleteSubscriptionsResponse>
{
    public static uint EncodingId => 847;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(SubscriptionIds, static (w, e) => w.WriteUInt32(e));
    }

    public static DeleteSubscriptionsRequest Read(ref UaReader reader) => new(
        reader.ReadArray(static (ref UaReader r) => r.ReadUInt32()));
}

/// <summary>Answer to <see cref="DeleteSubscriptionsRequest"/>.</summary>
public sealed record DeleteSubscriptionsResponse(IReadOnlyList<StatusCode> Results) : IEncodable<DeleteSubscriptionsResponse>
{
    public static uint EncodingId => 850;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results, static (w, e) => w.WriteStatusCode(e));
        writer.WriteInt32(0); // diagnostics
    }

    public static DeleteSubscriptionsResponse Read(ref UaReader reader)
    {
        var message = new DeleteSubscriptionsResponse(
            reader.ReadArray(static (ref UaReader r) => r.ReadStatusCode()));
        reader.SkipDiagnostics();
        return message;
    }
}
