namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>In which of the folders a certificate lies.</summary>
public enum StoredState
{
    /// <summary>Ours.</summary>
    Own,

    /// <summary>An application or an authority that is trusted.</summary>
    Trusted,

    /// <summary>An authority that completes chains but is not trusted by itself.</summary>
    Issuer,

    /// <summary>A peer showed it and it was not trusted, or somebody rejected it.</summary>
    Rejected,
}

/// <summary>A file of the store.</summary>
/// <param name="Thumbprint">SHA-1, 40 capital hexadecimal digits; empty if the file holds no certificate.</param>
/// <param name="ApplicationUri">Empty if the certificate says none.</param>
/// <param name="NotBefore">Null if the file holds no certificate.</param>
/// <param name="NotAfter">As <paramref name="NotBefore"/>.</param>
/// <param name="File">Full path.</param>
/// <param name="Problems">What is wrong with it, in sentences; empty if nothing is.</param>
public sealed record StoredCertificate(
    StoredState State,
    string Thumbprint,
    string Subject,
    string ApplicationUri,
    DateTimeOffset? NotBefore,
    DateTimeOffset? NotAfter,
    string File,
    IReadOnlyList<string> Problems);

/// <summary>The store cannot do what is asked; the message says why and what to do.</summary>
public sealed class PkiException(string message, Exception? inner = null) : Exception(message, inner);
