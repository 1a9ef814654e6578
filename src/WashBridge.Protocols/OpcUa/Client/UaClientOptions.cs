using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>How to reach a server, what it has to prove, and how long to wait for it.</summary>
public sealed record UaClientOptions
{
    /// <summary>
    /// <c>opc.tcp://host:port/path</c>; port 4840 where it is left away. Host and port are used for every connection, even where the server
    /// advertises others: its own name often cannot be reached from here.
    /// </summary>
    public required Uri Endpoint { get; init; }

    /// <summary>Null: the strongest that the server offers with <see cref="Mode"/>. What is named here and not offered is refused, never replaced by something weaker.</summary>
    public SecurityPolicy? Policy { get; init; }

    /// <summary><see cref="MessageSecurityMode.SignAndEncrypt"/> by default. Policy and mode None belong together.</summary>
    public MessageSecurityMode Mode { get; init; } = MessageSecurityMode.SignAndEncrypt;

    /// <summary>No default: see <see cref="UserIdentity"/>.</summary>
    public required UserIdentity Identity { get; init; }

    /// <summary>Sends a password as it is where the server offers no encryption for it on an unencrypted channel. Anybody on the network can then read it.</summary>
    public bool AllowPasswordInClear { get; init; }

    /// <summary>Our own; needed for every policy but None.</summary>
    public ApplicationCertificate? Certificate { get; init; }

    /// <summary>Decides whether the server's certificate is trusted; needed for every policy but None, and for an encrypted password.</summary>
    public CertificateValidator? Validator { get; init; }

    /// <summary>What is let pass in the server's certificate; nothing by default.</summary>
    public CertificateExceptions Exceptions { get; init; }

    /// <summary>Shown to people at the server.</summary>
    public string ApplicationName { get; init; } = "WashBridge";

    /// <summary>Ours; must be the one in the certificate where there is one. Null: that of the certificate.</summary>
    public string? ApplicationUri { get; init; }

    /// <summary>The application URI that the server must have. Null: the one its discovery tells, which its certificate must confirm.</summary>
    public string? ServerUri { get; init; }

    /// <summary>Shown to people at the server. Null: made from <see cref="ApplicationName"/>.</summary>
    public string? SessionName { get; init; }

    /// <summary>For a new connection, 10 ms to 10 min; 2 s by default.</summary>
    public TimeSpan ConnectTimeout { get; init; } = TimeSpan.FromSeconds(2);

    /// <summary>For one request, 10 ms to 10 min; 3 s by default. An answer that takes longer means that the connection is dead.</summary>
    public TimeSpan RequestTimeout { get; init; } = TimeSpan.FromSeconds(3);

    /// <summary>How long the server keeps a session that it hears nothing of, 1 s to 1 h; 60 s by default. The server may revise it.</summary>
    public TimeSpan SessionTimeout { get; init; } = TimeSpan.FromSeconds(60);

    /// <summary>How often the server's status is read, 50 ms to 10 min; 500 ms by default. Shows that the server lives, and its clock. At most a third of the session's time-out.</summary>
    public TimeSpan KeepAliveInterval { get; init; } = TimeSpan.FromMilliseconds(500);

    /// <summary>
    /// How late the answer to a keep-alive may be until a second connection is tried beside the first, 10 ms to <see cref="RequestTimeout"/>;
    /// 300 ms by default. Whichever works first is kept; the other is closed.
    /// </summary>
    public TimeSpan SuspectAfter { get; init; } = TimeSpan.FromMilliseconds(300);

    /// <summary>The longest wait between two attempts to connect during the first ten minutes without a server, 10 ms to 1 h; 1 s by default. Later five times as long.</summary>
    public TimeSpan MaxRetryInterval { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>The wait after a refusal that only a person can change (certificate, user, policy), 10 ms to 1 h; 15 s by default.</summary>
    public TimeSpan RefusedRetryInterval { get; init; } = TimeSpan.FromSeconds(15);

    /// <summary>How often nodes that are unknown or have vanished are asked for again, 100 ms to 1 day; 30 s by default.</summary>
    public TimeSpan ItemRetryInterval { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>How much faster or slower the server's clock may run than ours, 0 to 0.01; 0.0001 (100 ppm) by default.</summary>
    public double ClockDrift { get; init; } = 0.0001;

    /// <summary>The step of the server's clock as it is shown, 100 ns to 1 s; 1 ms by default. The true time may be so much later than the one told.</summary>
    public TimeSpan ClockResolution { get; init; } = TimeSpan.FromMilliseconds(1);

    /// <summary>Most operations (nodes, paths, items) in one request even where the server sets no limit, 1 to 100,000; 1,000 by default.</summary>
    public int MaxOperationsPerRequest { get; init; } = 1_000;

    /// <summary>Most references of one node that a browse answer may bring at once, 0 (no limit) to 1,000,000; 1,000 by default.</summary>
    public int MaxReferencesPerNode { get; init; } = 1_000;

    /// <summary>Most publish requests waiting at the server, 2 to 1,000; 100 by default.</summary>
    public int MaxPublishRequests { get; init; } = 100;

    /// <summary>Buffers and the longest message.</summary>
    public TransportLimits Transport { get; init; } = TransportLimits.Default;

    /// <summary>What a message may take in memory.</summary>
    public DecodingLimits Decoding { get; init; } = DecodingLimits.Default;

    /// <summary>How long one set of keys is used, 1 s to 24 h; 1 h by default. The server may revise it.</summary>
    public TimeSpan TokenLifetime { get; init; } = TimeSpan.FromHours(1);

    /// <exception cref="ArgumentException">A value is not allowed; the message says what is.</exception>
    public void Validate()
    {
        ArgumentNullException.ThrowIfNull(Endpoint);
        ArgumentNullException.ThrowIfNull(Identity);
        Check(Endpoint.IsAbsoluteUri && Endpoint.Scheme == "opc.tcp" && Endpoint.Host.Length > 0, nameof(Endpoint), Endpoint, "opc.tcp://host:port/path");
        Check(Mode is >= MessageSecurityMode.None and <= MessageSecurityMode.SignAndEncrypt, nameof(Mode), Mode, "None, Sign, SignAndEncrypt");
        Check(Policy is null || Policy.IsNone == (Mode == MessageSecurityMode.None), nameof(Policy), $"{Policy} with mode {Mode}", "policy None with mode None, or neither");
        if (Mode != MessageSecurityMode.None)
        {
            Check(Certificate is not null, nameof(Certificate), "none", $"a certificate of our own for mode {Mode}");
            Check(Validator is not null, nameof(Validator), "none", $"a validator for the server's certificate for mode {Mode}");
        }

        if (Certificate is { } own && ApplicationUri is { } uri)
        {
            Check(own.ApplicationUri == uri, nameof(ApplicationUri), uri, $"the one in our certificate, {own.ApplicationUri}");
        }

        CheckWait(TokenLifetime, nameof(TokenLifetime), TimeSpan.FromSeconds(1), TimeSpan.FromHours(24));
        CheckWait(ConnectTimeout, nameof(ConnectTimeout), TimeSpan.FromMilliseconds(10), TimeSpan.FromMinutes(10));
        CheckWait(RequestTimeout, nameof(RequestTimeout), TimeSpan.FromMilliseconds(10), TimeSpan.FromMinutes(10));
        CheckWait(SessionTimeout, nameof(SessionTimeout), TimeSpan.FromSeconds(1), TimeSpan.FromHours(1));
        CheckWait(KeepAliveInterval, nameof(KeepAliveInterval), TimeSpan.FromMilliseconds(50), TimeSpan.FromMinutes(10));
        CheckWait(SuspectAfter, nameof(SuspectAfter), TimeSpan.FromMilliseconds(10), RequestTimeout);
        CheckWait(MaxRetryInterval, nameof(MaxRetryInterval), TimeSpan.FromMilliseconds(10), TimeSpan.FromHours(1));
        CheckWait(RefusedRetryInterval, nameof(RefusedRetryInterval), TimeSpan.FromMilliseconds(10), TimeSpan.FromHours(1));
        CheckWait(ItemRetryInterval, nameof(ItemRetryInterval), TimeSpan.FromMilliseconds(100), TimeSpan.FromDays(1));
        CheckWait(ClockResolution, nameof(ClockResolution), TimeSpan.FromTicks(1), TimeSpan.FromSeconds(1));
        Check(ClockDrift is >= 0 and <= 0.01, nameof(ClockDrift), ClockDrift, "0 to 0.01");
        Check(MaxOperationsPerRequest is >= 1 and <= 100_000, nameof(MaxOperationsPerRequest), MaxOperationsPerRequest, "1 to 100,000");
        Check(MaxReferencesPerNode is >= 0 and <= 1_000_000, nameof(MaxReferencesPerNode), MaxReferencesPerNode, "0 to 1,000,000");
        Check(MaxPublishRequests is >= 2 and <= 1_000, nameof(MaxPublishRequests), MaxPublishRequests, "2 to 1,000");
    }

    private static void CheckWait(TimeSpan found, string name, TimeSpan least, TimeSpan most) => Check(found >= least && found <= most, name, found, $"{least} to {most}");

    private static void Check(bool isAllowed, string name, object found, string allowed)
    {
        if (!isAllowed)
        {
            throw new ArgumentOutOfRangeException(name, found, $"allowed: {allowed}");
        }
    }
}
