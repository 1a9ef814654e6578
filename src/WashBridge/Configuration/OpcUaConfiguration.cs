using System.Net;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Configuration;

/// <summary>The program as an OPC UA application: its name, its certificates and, where it is wanted, its server.</summary>
internal sealed record OpcUaConfiguration
{
    public const string StandardApplicationName = "WashBridge";

    /// <summary>Folder of certificates: own, trusted, rejected.</summary>
    public required string Pki { get; init; }

    public string ApplicationName { get; init; } = StandardApplicationName;

    /// <summary>Stands in our certificate; servers know us by it. <c>urn:washbridge:</c> and the site's id unless the file says otherwise.</summary>
    public required string ApplicationUri { get; init; }

    /// <summary>Host names and IP addresses in our certificate; empty: the name of this machine when the certificate is made.</summary>
    public IReadOnlyList<string> HostNames { get; init; } = [];

    /// <summary>Null: no server.</summary>
    public OpcUaServerConfiguration? Server { get; init; }
}

/// <summary>Our own server, which publishes signals, cycles, verdicts and alarms to plant systems. It has no service that writes.</summary>
internal sealed record OpcUaServerConfiguration
{
    /// <summary>1 to 65,535.</summary>
    public int Port { get; init; } = 4840;

    /// <summary>Anything but loopback needs secured policies and users.</summary>
    public IPAddress Listen { get; init; } = IPAddress.Loopback;

    /// <summary>Strongest first.</summary>
    public IReadOnlyList<SecurityPolicy> Policies { get; init; } = StandardPolicies;

    /// <summary>For all policies but None, which has no other mode than None.</summary>
    public IReadOnlyList<MessageSecurityMode> Modes { get; init; } = StandardModes;

    /// <summary>On loopback only.</summary>
    public bool AllowAnonymous { get; init; }

    public IReadOnlyList<OpcUaUser> Users { get; init; } = [];

    public static IReadOnlyList<SecurityPolicy> StandardPolicies { get; } = [SecurityPolicy.Aes256Sha256RsaPss, SecurityPolicy.Aes128Sha256RsaOaep, SecurityPolicy.Basic256Sha256];

    public static IReadOnlyList<MessageSecurityMode> StandardModes { get; } = [MessageSecurityMode.SignAndEncrypt];
}

/// <summary>Who may read from our server.</summary>
/// <param name="Name">Of the user; unique.</param>
internal abstract record OpcUaUser(string Name);

/// <param name="Name">Of the user.</param>
/// <param name="Password">What the file says of the password, which is never the password itself.</param>
internal sealed record PasswordUser(string Name, PasswordHash Password) : OpcUaUser(Name);

/// <param name="Name">For the log: the certificate tells who it is.</param>
/// <param name="Thumbprint">SHA-1 of the certificate, 40 upper-case hexadecimal digits.</param>
internal sealed record CertificateUser(string Name, string Thumbprint) : OpcUaUser(Name);
