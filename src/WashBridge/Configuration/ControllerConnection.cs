using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Configuration;

/// <summary>How a controller is reached.</summary>
internal abstract record ControllerConnection;

internal sealed record ModbusConnection : ControllerConnection
{
    public required string Host { get; init; }

    /// <summary>1 to 65,535.</summary>
    public int Port { get; init; } = 502;

    /// <summary>0 to 255.</summary>
    public byte Unit { get; init; } = 255;

    /// <summary>For one request, 50 ms to 60 s.</summary>
    public TimeSpan Timeout { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>Requests in flight, 1 to 16.</summary>
    public int InFlight { get; init; } = 1;

    /// <summary>Unmapped registers (or 16 times as many bits) that one request may span to save another, 0 to 120.</summary>
    public int GapAllowance { get; init; } = 8;

    /// <summary>Registers a request, 1 to 125.</summary>
    public int MaxRegisters { get; init; } = 125;

    /// <summary>Bits a request, 1 to 2,000.</summary>
    public int MaxBits { get; init; } = 2000;
}

internal sealed record OpcUaConnection : ControllerConnection
{
    /// <summary><c>opc.tcp://host:port[/path]</c>; the port is always given here (4840 where the file leaves it out).</summary>
    public required Uri Endpoint { get; init; }

    /// <summary>Null: the strongest that the server offers in this mode.</summary>
    public SecurityPolicy? Policy { get; init; }

    /// <summary><see cref="MessageSecurityMode.None"/> only where the file says so by name.</summary>
    public MessageSecurityMode Mode { get; init; } = MessageSecurityMode.SignAndEncrypt;

    public OpcUaIdentity Identity { get; init; } = new AnonymousIdentity();

    /// <summary>The application URI that the server's certificate must carry; null: the one that its endpoint tells.</summary>
    public string? ServerUri { get; init; }

    /// <summary>What is let pass in the server's certificate, knowingly.</summary>
    public CertificateExceptions Exceptions { get; init; }

    /// <summary>For one request, 300 ms to 60 s. How often the server is asked for a sign of life follows from it.</summary>
    public TimeSpan Timeout { get; init; } = TimeSpan.FromSeconds(3);

    /// <summary>How long the server keeps the session while it cannot be reached, 10 s to 1 h.</summary>
    public TimeSpan SessionTimeout { get; init; } = TimeSpan.FromSeconds(60);
}

/// <summary>Who a session is for.</summary>
internal abstract record OpcUaIdentity;

internal sealed record AnonymousIdentity : OpcUaIdentity;

/// <param name="User">The user.</param>
/// <param name="Password">Already read from its environment variable or file.</param>
/// <param name="MayBeReadable">The file accepts by name that without security others may read it on its way.</param>
internal sealed record UserNameIdentity(string User, string Password, bool MayBeReadable = false) : OpcUaIdentity
{
    /// <summary>Never shows the password.</summary>
    public override string ToString() => $"user {User}";
}

/// <summary>A user certificate, other than the application's own.</summary>
/// <param name="CertificateFile">PEM or DER.</param>
/// <param name="KeyFile">Its private key, PEM, without a passphrase.</param>
internal sealed record CertificateIdentity(string CertificateFile, string KeyFile) : OpcUaIdentity;
