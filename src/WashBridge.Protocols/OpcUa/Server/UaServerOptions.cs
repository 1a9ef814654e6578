using System.Net;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>How a server is reached, by whom, and what it calls itself.</summary>
public sealed record UaServerOptions
{
    /// <summary>Loopback by default: other machines cannot connect.</summary>
    public IPAddress ListenAddress { get; init; } = IPAddress.Loopback;

    /// <summary>0 to 65535; 0 takes a free one. 4840, the registered port, by default.</summary>
    public int Port { get; init; } = 4840;

    /// <summary>
    /// Names and addresses under which clients reach this machine, as in the certificate. A client is told the one that it used itself, else the first.
    /// Empty: the listen address, or the machine's name where it listens on all.
    /// </summary>
    public IReadOnlyList<string> HostNames { get; init; } = [];

    /// <summary>What follows the port in the URL, such as <c>/washers</c>; empty by default.</summary>
    public string Path { get; init; } = "";

    /// <summary>Shown to people.</summary>
    public string ApplicationName { get; init; } = "WashBridge";

    /// <summary>Unique to this installation. Must be the certificate's where there is one; null: taken from it, or made from the machine's name.</summary>
    public string? ApplicationUri { get; init; }

    public string ProductUri { get; init; } = "urn:washbridge";

    public string SoftwareVersion { get; init; } = "";

    /// <summary>
    /// What is offered: <see cref="ServerEndpoint.Protected"/> by default. Discovery is answered without protection in any case, as clients need it to
    /// find out what is offered (OPC 10000-4, 5.5.4.1); sessions are not.
    /// </summary>
    public IReadOnlyList<ServerEndpoint> Endpoints { get; init; } = ServerEndpoint.Protected;

    /// <summary>Needed for every endpoint but the unprotected one, and for passwords. The caller disposes of it.</summary>
    public ApplicationCertificate? Certificate { get; init; }

    /// <summary>Judges clients' certificates. Needed for every endpoint but the unprotected one.</summary>
    public CertificateValidator? Validator { get; init; }

    /// <summary>Whether sessions without a user are allowed. False by default.</summary>
    public bool AllowAnonymous { get; init; }

    /// <summary>Who may log in; null: nobody.</summary>
    public IUserDirectory? Users { get; init; }

    /// <summary>
    /// Lets anonymous clients on unprotected channels take over each other's subscriptions, which the standard forbids (OPC 10000-4, 5.14.7) because
    /// anybody could claim to be the same application. For trials; false by default.
    /// </summary>
    public bool AllowUnprotectedTransfer { get; init; }

    public UaServerLimits Limits { get; init; } = new();

    /// <summary>
    /// Sizes of chunks and messages. Requests of up to 1 MB by default: the longest that <see cref="Limits"/> allow are shorter, and whoever connects
    /// can make the server keep so much before it knows them.
    /// </summary>
    public TransportLimits Transport { get; init; } = new() { MaxMessageSize = 1024 * 1024, MaxChunkCount = 128 };

    internal string EffectiveApplicationUri => ApplicationUri ?? Certificate?.ApplicationUri ?? $"urn:{Dns.GetHostName()}:washbridge";

    /// <exception cref="ArgumentException">Parts that are missing or do not go together, or a value outside its range.</exception>
    internal void Validate()
    {
        Limits.Validate();
        Transport.Validate();
        if (Port is < 0 or > 65535)
        {
            throw new ArgumentOutOfRangeException(nameof(Port), Port, "allowed: 0 to 65535");
        }

        if (Endpoints.Count == 0)
        {
            throw new ArgumentException("no endpoint is offered; at least one is needed", nameof(Endpoints));
        }

        if (Endpoints.FirstOrDefault(static endpoint => !endpoint.IsConsistent) is { } wrong)
        {
            throw new ArgumentException($"policy {wrong.Policy} with mode {wrong.Mode}; allowed: None with None, any other with Sign or SignAndEncrypt", nameof(Endpoints));
        }

        if (Endpoints.Any(static endpoint => !endpoint.Policy.IsNone) && (Certificate is null || Validator is null))
        {
            throw new ArgumentException("protected endpoints need a certificate and a validator of clients' certificates", nameof(Certificate));
        }

        if (ApplicationUri is not null && Certificate is not null && ApplicationUri != Certificate.ApplicationUri)
        {
            throw new ArgumentException($"application URI {ApplicationUri}, but the certificate says {Certificate.ApplicationUri}; both must be the same", nameof(ApplicationUri));
        }

        if (!AllowAnonymous && Users is null)
        {
            throw new ArgumentException("nobody may log in: neither anonymous sessions nor users are allowed", nameof(Users));
        }

        if (Users is { HasPasswords: true } && Certificate is null)
        {
            throw new ArgumentException("passwords need a certificate, which clients encrypt them with", nameof(Certificate));
        }

        if (Path.Length > 0 && (Path[0] != '/' || !Uri.IsWellFormedUriString(Path, UriKind.Relative)))
        {
            throw new ArgumentException($"path \"{Path}\"; allowed: empty, or a slash and what may follow in a URL", nameof(Path));
        }
    }
}
