using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>A policy together with a mode, as an endpoint offers it.</summary>
public readonly record struct ChannelProtection(SecurityPolicy Policy, MessageSecurityMode Mode)
{
    public static ChannelProtection None { get; } = new(SecurityPolicy.None, MessageSecurityMode.None);
}

/// <summary>What a server accepts.</summary>
public sealed record ServerChannelOptions
{
    /// <summary>What a client may choose from. A server that offers nothing without protection still needs <see cref="ChannelProtection.None"/> for discovery.</summary>
    public required IReadOnlyList<ChannelProtection> Allowed { get; init; }

    /// <summary>Our own; not needed if only the policy None is allowed.</summary>
    public ApplicationCertificate? Certificate { get; init; }

    /// <summary>
    /// Judges the client's certificate, in DER with or without its issuers, before our private key touches anything that the client sent. Anything but a
    /// good status refuses it; the client is then told no more than BadSecurityChecksFailed (OPC 10000-4, 6.1.3). Asked again at every renewal.
    /// </summary>
    public Func<ReadOnlyMemory<byte>, StatusCode> ValidateClient { get; init; } = static _ => StatusCodes.BadCertificateUntrusted;

    public TransportLimits Limits { get; init; } = TransportLimits.Default;

    public DecodingLimits Decoding { get; init; } = DecodingLimits.Default;

    /// <summary>The shortest life of a token that is granted, 1 s to 1 h; 10 s by default.</summary>
    public TimeSpan MinTokenLifetime { get; init; } = TimeSpan.FromSeconds(10);

    /// <summary>The longest life of a token that is granted, 1 s to 24 h; 1 h by default.</summary>
    public TimeSpan MaxTokenLifetime { get; init; } = TimeSpan.FromHours(1);

    /// <summary>From the connection to the open channel, 1 ms to 10 min; 10 s by default.</summary>
    public TimeSpan HandshakeTimeout { get; init; } = TimeSpan.FromSeconds(10);

    /// <summary>How long a peer may refuse to take what is sent before the connection is given up, 1 ms to 10 min; 10 s by default.</summary>
    public TimeSpan SendTimeout { get; init; } = TimeSpan.FromSeconds(10);

    internal void Validate()
    {
        Limits.Validate();
        if (Allowed.Count == 0)
        {
            throw new ArgumentException("no policy is allowed", nameof(Allowed));
        }

        foreach (var allowed in Allowed)
        {
            ChannelSecurity.Check(allowed.Policy, allowed.Mode, nameof(Allowed));
            if (!allowed.Policy.IsNone && Certificate is null)
            {
                throw new ArgumentException($"the policy {allowed.Policy} needs a certificate of our own", nameof(Certificate));
            }
        }

        Ranges.Check(MinTokenLifetime, nameof(MinTokenLifetime), TimeSpan.FromSeconds(1), TimeSpan.FromHours(1));
        Ranges.Check(MaxTokenLifetime, nameof(MaxTokenLifetime), MinTokenLifetime, TimeSpan.FromHours(24));
        Ranges.Check(HandshakeTimeout, nameof(HandshakeTimeout), TimeSpan.FromMilliseconds(1), TimeSpan.FromMinutes(10));
        Ranges.Check(SendTimeout, nameof(SendTimeout), TimeSpan.FromMilliseconds(1), TimeSpan.FromMinutes(10));
    }
}
