using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>Where a channel leads to and how it is protected.</summary>
public sealed record ClientChannelOptions
{
    public const int DefaultPort = 4840;

    /// <summary><c>opc.tcp://host:port/path</c>; port 4840 where none is given (OPC 10000-6, 7.1).</summary>
    public required Uri Endpoint { get; init; }

    public required SecurityPolicy Policy { get; init; }

    /// <summary>None with the policy None, Sign or SignAndEncrypt with any other.</summary>
    public required MessageSecurityMode Mode { get; init; }

    /// <summary>Our own; not needed for the policy None.</summary>
    public ApplicationCertificate? Certificate { get; init; }

    /// <summary>The server's certificate in DER, with its issuers or without, already found to be trusted; not needed for the policy None.</summary>
    public ReadOnlyMemory<byte> ServerCertificate { get; init; }

    public TransportLimits Limits { get; init; } = TransportLimits.Default;

    public DecodingLimits Decoding { get; init; } = DecodingLimits.Default;

    /// <summary>How long one set of keys is to be used, 1 s to 24 h; 1 h by default. The server may revise it. Renewed when 75 % have passed.</summary>
    public TimeSpan TokenLifetime { get; init; } = TimeSpan.FromHours(1);

    /// <summary>For connection, hello and the opening of the channel together, 1 ms to 10 min; 5 s by default.</summary>
    public TimeSpan ConnectTimeout { get; init; } = TimeSpan.FromSeconds(5);

    internal void Validate()
    {
        Limits.Validate();
        if (Endpoint is not { IsAbsoluteUri: true, Scheme: "opc.tcp" } || Endpoint.Host.Length == 0)
        {
            throw new ArgumentException($"the endpoint \"{Endpoint}\" is not of the form opc.tcp://host:port/path", nameof(Endpoint));
        }

        if (Endpoint.OriginalString.Length > Hello.MaxUrlBytes)
        {
            throw new ArgumentException($"an endpoint of {Endpoint.OriginalString.Length} characters; allowed: {Hello.MaxUrlBytes}", nameof(Endpoint));
        }

        ChannelSecurity.Check(Policy, Mode, nameof(Mode));
        if (!Policy.IsNone)
        {
            ArgumentNullException.ThrowIfNull(Certificate);
            if (ServerCertificate.IsEmpty)
            {
                throw new ArgumentException($"the policy {Policy} needs the server's certificate", nameof(ServerCertificate));
            }
        }

        Ranges.Check(TokenLifetime, nameof(TokenLifetime), TimeSpan.FromSeconds(1), TimeSpan.FromHours(24));
        Ranges.Check(ConnectTimeout, nameof(ConnectTimeout), TimeSpan.FromMilliseconds(1), TimeSpan.FromMinutes(10));
    }
}
