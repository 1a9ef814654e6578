namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>What is knowingly let pass in a server's certificate; each use is logged. A certificate that is not trusted, or is revoked, never passes.</summary>
[Flags]
public enum CertificateExceptions
{
    None = 0,

    /// <summary>It, or an issuer's, has expired or is not valid yet.</summary>
    Expired = 1,

    /// <summary>It does not name the host that we connect to.</summary>
    OtherHost = 2,

    /// <summary>It does not name the application URI of the server.</summary>
    OtherApplicationUri = 4,

    /// <summary>It was not made for this use.</summary>
    OtherUsage = 8,

    /// <summary>There is no current revocation list of its issuer.</summary>
    UnknownRevocation = 16,
}
