namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>As what a certificate is shown.</summary>
public enum CertificatePurpose
{
    /// <summary>By a server we connect to.</summary>
    Server,

    /// <summary>By a client that connects to us.</summary>
    Client,

    /// <summary>By a user who logs in with it.</summary>
    User,
}

/// <summary>What a peer's certificate has to fit to, and what is let pass knowingly: nothing by default.</summary>
public sealed record CertificateExpectation
{
    public required CertificatePurpose Purpose { get; init; }

    /// <summary>Sets the lengths of keys and the signature algorithms that are allowed; under None neither is checked.</summary>
    public required SecurityPolicy SecurityPolicy { get; init; }

    /// <summary>From the application description; null if it is not known yet or the certificate is a user's.</summary>
    public string? ApplicationUri { get; init; }

    /// <summary>Name or address that we connected to; null for clients and users.</summary>
    public string? Host { get; init; }

    /// <summary>Outside of its validity time: ended, or not begun. Also that of its issuers.</summary>
    public bool AllowExpired { get; init; }

    public bool AllowOtherHost { get; init; }

    public bool AllowOtherApplicationUri { get; init; }

    /// <summary>An authority's certificate, or key usages that do not fit.</summary>
    public bool AllowOtherUsage { get; init; }

    /// <summary>No current revocation list of an issuer. One that is there is always obeyed.</summary>
    public bool AllowUnknownRevocation { get; init; }
}
