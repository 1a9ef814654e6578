using System.Formats.Asn1;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>A certificate with everything that validation asks of it, read once. Immutable.</summary>
internal sealed class ParsedCertificate
{
    /// <summary>Longer ones are refused before they are parsed: a certificate of 4096 bits with many names has some 3,000 bytes.</summary>
    public const int MaxBytes = 16 * 1024;

    /// <summary>Extensions that validation acts on, or that change nothing in it; another one that is critical makes a certificate unusable (RFC 5280, 4.2).</summary>
    private static readonly HashSet<string> ProcessedExtensions =
    [
        SubjectAlternativeNames.ObjectIdentifier, "2.5.29.15", "2.5.29.37", "2.5.29.19", "2.5.29.14", "2.5.29.35", "2.5.29.31", "2.5.29.32",
    ];

    private ParsedCertificate(X509Certificate2 certificate)
    {
        Certificate = certificate;
        Der = certificate.RawDataMemory;
        Signed = SignedDer.Read(Der);
        Thumbprint = certificate.Thumbprint;
        NotBefore = new DateTimeOffset(certificate.NotBefore.ToUniversalTime());
        NotAfter = new DateTimeOffset(certificate.NotAfter.ToUniversalTime());
        using var key = certificate.GetRSAPublicKey();
        KeyBits = key?.KeySize;
        foreach (var extension in certificate.Extensions)
        {
            Read(extension);
        }
    }

    public X509Certificate2 Certificate { get; }

    public ReadOnlyMemory<byte> Der { get; }

    public SignedDer Signed { get; }

    /// <summary>SHA-1 over the DER form, 40 capital hexadecimal digits.</summary>
    public string Thumbprint { get; }

    public DateTimeOffset NotBefore { get; }

    public DateTimeOffset NotAfter { get; }

    /// <summary>Null if the key is not RSA.</summary>
    public int? KeyBits { get; }

    public SubjectAlternativeNames Names { get; private set; } = SubjectAlternativeNames.Empty;

    /// <summary>The first URI; empty if there is none.</summary>
    public string ApplicationUri => Names.Uris is [var first, ..] ? first : "";

    /// <summary>Null if the certificate does not restrict it.</summary>
    public X509KeyUsageFlags? KeyUsage { get; private set; }

    /// <summary>Object identifiers; null if the certificate does not restrict it.</summary>
    public IReadOnlyList<string>? ExtendedKeyUsage { get; private set; }

    public bool IsAuthority { get; private set; }

    /// <summary>Most authorities that may stand between this one and the end certificate; null if the certificate does not restrict it.</summary>
    public int? PathLength { get; private set; }

    /// <summary>A critical extension nobody here understands; null if there is none.</summary>
    public string? UnknownCriticalExtension { get; private set; }

    /// <summary>Issued by the name it carries itself. Whether by its own key is for the signature to say.</summary>
    public bool IsSelfIssued => Certificate.SubjectName.RawData.AsSpan().SequenceEqual(Certificate.IssuerName.RawData);

    public bool BelongsTo(RSA key)
    {
        using var publicKey = Certificate.GetRSAPublicKey();
        return publicKey is not null && publicKey.ExportRSAPublicKey().AsSpan().SequenceEqual(key.ExportRSAPublicKey());
    }

    /// <summary>Subject and the beginning of the thumbprint, for messages.</summary>
    public string Label => $"'{Certificate.Subject}' ({Thumbprint[..8]})";

    /// <exception cref="CryptographicException">Not a certificate, or one that is broken.</exception>
    public static ParsedCertificate Parse(ReadOnlySpan<byte> der)
    {
        if (der.Length is 0 or > MaxBytes)
        {
            throw new CryptographicException($"{der.Length} bytes; allowed: 1 to {MaxBytes}");
        }

        try
        {
            const byte Sequence = 0x30;
            var certificate = der[0] == Sequence ? X509CertificateLoader.LoadCertificate(der) : throw new CryptographicException("not an X.509 certificate in DER form");
            return certificate.RawDataMemory.Length == der.Length
                ? new ParsedCertificate(certificate)
                : throw new CryptographicException($"{der.Length - certificate.RawDataMemory.Length} bytes follow the certificate");
        }
        catch (Exception e) when (e is AsnContentException or ArgumentException or FormatException)
        {
            throw new CryptographicException($"not a well-formed X.509 certificate: {e.Message}", e);
        }
    }

    private void Read(X509Extension extension)
    {
        switch (extension.Oid?.Value)
        {
            case SubjectAlternativeNames.ObjectIdentifier:
                Names = SubjectAlternativeNames.Read(extension.RawData);
                break;
            case "2.5.29.15":
                KeyUsage = new X509KeyUsageExtension(extension, extension.Critical).KeyUsages;
                break;
            case "2.5.29.37":
                ExtendedKeyUsage = [.. new X509EnhancedKeyUsageExtension(extension, extension.Critical).EnhancedKeyUsages.Cast<Oid>().Select(oid => oid.Value ?? "")];
                break;
            case "2.5.29.19":
                var constraints = new X509BasicConstraintsExtension(extension, extension.Critical);
                IsAuthority = constraints.CertificateAuthority;
                PathLength = constraints.HasPathLengthConstraint ? constraints.PathLengthConstraint : null;
                break;
        }

        if (extension.Critical && !ProcessedExtensions.Contains(extension.Oid?.Value ?? ""))
        {
            UnknownCriticalExtension = extension.Oid?.Value ?? "without identifier";
        }
    }
}
