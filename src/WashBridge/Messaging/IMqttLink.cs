namespace WashBridge.Messaging;

/// <summary>Why a broker is not reached, or reached no more.</summary>
internal enum MqttFailure
{
    /// <summary>No connection, or it broke.</summary>
    Unreachable,

    /// <summary>No answer in time.</summary>
    TimedOut,

    /// <summary>TLS failed: one side does not trust the other's certificate.</summary>
    Tls,

    /// <summary>User, password or certificate is not accepted.</summary>
    Unauthorised,

    /// <summary>The broker refuses for another reason.</summary>
    Refused,
}

/// <summary>The connection to the broker cannot be made, or is gone: whoever has it begins anew.</summary>
internal sealed class MqttLinkException(MqttFailure failure, string message, Exception? inner = null) : Exception(message, inner)
{
    public MqttFailure Failure => failure;
}

/// <summary>A message as it is handed to the broker.</summary>
/// <param name="Topic">Its topic.</param>
/// <param name="Payload">Its bytes.</param>
/// <param name="AtLeastOnce">QoS 1; false: QoS 0.</param>
/// <param name="Retain">Kept by the broker for those who come later.</param>
internal sealed record MqttMessage(string Topic, ReadOnlyMemory<byte> Payload, bool AtLeastOnce = false, bool Retain = false);

/// <summary>One connection to a broker, from its beginning to its end. Every failure is a <see cref="MqttLinkException"/>, after which nothing more can be done with it.</summary>
internal interface IMqttLink : IAsyncDisposable
{
    /// <param name="will">What the broker says in our name when the connection is lost.</param>
    /// <param name="received">Called for each message; must not block.</param>
    /// <param name="lost">Called once when the connection is lost.</param>
    Task ConnectAsync(MqttMessage? will, Action<string, byte[]> received, Action<string> lost, CancellationToken cancellation);

    Task SubscribeAsync(IReadOnlyList<string> topics, CancellationToken cancellation);

    Task PublishAsync(MqttMessage message, CancellationToken cancellation);

    /// <summary>Returns when the broker has taken in all that was published so far. QoS 0 has no receipt of its own, but a broker reads a connection in order, so that its answer to a ping stands behind all that came before.</summary>
    Task ConfirmAsync(CancellationToken cancellation);

    /// <summary>Ends the connection so that the will is not sent.</summary>
    Task DisconnectAsync(CancellationToken cancellation);
}
