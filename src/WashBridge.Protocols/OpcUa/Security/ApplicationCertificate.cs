using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>Our own certificate with its private key (Part 6, 6.2.2). Immutable; safe to share between threads, since signing and decrypting leave the key as it is.</summary>
public sealed class ApplicationCertificate : IDisposable
{
    /// <summary>So long before its end a certificate should be renewed.</summary>
    public static readonly TimeSpan RenewalTime = TimeSpan.FromDays(30);

    private const string ServerAuthentication = "1.3.6.1.5.5.7.3.1";
    private const string ClientAuthentication = "1.3.6.1.5.5.7.3.2";

    /// <summary>Peers have clocks of their own: one that is behind must not find the certificate not yet valid.</summary>
    private static readonly TimeSpan Backdating = TimeSpan.FromDays(1);

    private readonly ParsedCertificate parsed;

    internal ApplicationCertificate(ParsedCertificate parsed, RSA privateKey, IReadOnlyList<ParsedCertificate> issuers)
    {
        this.parsed = parsed;
        PrivateKey = privateKey;
        byte[] chain = [.. issuers.Prepend(parsed).SelectMany(certificate => certificate.Der.ToArray())];
        Chain = chain;
        Thumbprint = CertificateChain.Thumbprint(parsed.Der.Span);
        ApplicationUri = parsed.ApplicationUri;
    }

    /// <summary>Without the private key.</summary>
    public X509Certificate2 Certificate => parsed.Certificate;

    public RSA PrivateKey { get; }

    /// <summary>The certificate alone.</summary>
    public ReadOnlyMemory<byte> Der => parsed.Der;

    /// <summary>The certificate followed by its issuers, as it is sent (Part 6, 6.2.6). Equal to <see cref="Der"/> if it is self-signed.</summary>
    public ReadOnlyMemory<byte> Chain { get; }

    /// <summary>SHA-1 over <see cref="Der"/>, 20 bytes (Part 6, 6.7.2.3).</summary>
    public byte[] Thumbprint { get; }

    /// <summary>As the certificate says; empty if it says none. The application description must say the same.</summary>
    public string ApplicationUri { get; }

    /// <summary>A new key and a certificate that it signs itself, with the extensions that the standard asks for, valid from a day before now.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Something in the request is not allowed; the message says what is.</exception>
    public static ApplicationCertificate CreateSelfSigned(CertificateRequestData request, TimeProvider time)
    {
        request.Validate();
        return CreateSelfSigned(request, time, RSA.Create(request.KeyBits));
    }

    /// <summary>A certificate and its key from files of their own, as for a user: the certificate in DER or PEM form, the key in PEM form.</summary>
    /// <exception cref="PkiException">A file cannot be read, others can read the key, or the two do not belong together.</exception>
    public static ApplicationCertificate Load(string certificateFile, string keyFile)
    {
        try
        {
            var certificate = ParsedCertificate.Parse(Pem.ToDer(File.ReadAllBytes(certificateFile), "CERTIFICATE"));
            var key = PkiStore.ReadKey(keyFile);
            return certificate.BelongsTo(key)
                ? new ApplicationCertificate(certificate, key, [])
                : throw new PkiException($"the certificate {certificateFile} does not belong to the private key {keyFile}");
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or CryptographicException)
        {
            throw new PkiException($"the certificate {certificateFile} with the key {keyFile} cannot be used: {e.Message}", e);
        }
    }

    /// <summary>The same for a key that exists already.</summary>
    internal static ApplicationCertificate CreateSelfSigned(CertificateRequestData request, TimeProvider time, RSA key)
    {
        request.Validate();
        var from = time.GetUtcNow() - Backdating;
        var certificate = new CertificateRequest(new X500DistinguishedName(request.SubjectName), key, HashAlgorithmName.SHA256, RSASignaturePadding.Pkcs1);
        var subjectKey = new X509SubjectKeyIdentifierExtension(certificate.PublicKey, critical: false);
        certificate.CertificateExtensions.Add(subjectKey);
        certificate.CertificateExtensions.Add(X509AuthorityKeyIdentifierExtension.CreateFromSubjectKeyIdentifier(subjectKey));
        certificate.CertificateExtensions.Add(new X509BasicConstraintsExtension(certificateAuthority: false, hasPathLengthConstraint: false, 0, critical: true));
        certificate.CertificateExtensions.Add(new X509KeyUsageExtension(
            X509KeyUsageFlags.DigitalSignature | X509KeyUsageFlags.NonRepudiation | X509KeyUsageFlags.KeyEncipherment | X509KeyUsageFlags.DataEncipherment
                | X509KeyUsageFlags.KeyCertSign, // asked of those that sign themselves
            critical: true));
        certificate.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension([new Oid(ServerAuthentication), new Oid(ClientAuthentication)], critical: false));
        certificate.CertificateExtensions.Add(new SubjectAlternativeNames([request.ApplicationUri], request.DnsNames, request.IpAddresses).ToExtension());
        using var signed = certificate.CreateSelfSigned(from, time.GetUtcNow() + request.Validity);
        return new ApplicationCertificate(ParsedCertificate.Parse(signed.RawData), key, []);
    }

    /// <summary>What somebody should know about this certificate: it has ended or ends within 30 days, or says something else than asked for. Empty if all is well.</summary>
    public IReadOnlyList<string> Hints(CertificateRequestData wanted, TimeProvider time)
    {
        List<string> hints = [];
        if (RenewalHint(parsed, time) is { } renewal)
        {
            hints.Add(renewal);
        }

        if (ApplicationUri != wanted.ApplicationUri)
        {
            hints.Add($"our certificate says the application URI '{ApplicationUri}', the configuration '{wanted.ApplicationUri}'; peers compare them");
        }

        var missing = wanted.DnsNames.Concat(wanted.IpAddresses.Select(address => address.ToString())).Where(host => !parsed.Names.Covers(host)).ToList();
        if (missing.Count > 0)
        {
            hints.Add($"our certificate does not name {string.Join(", ", missing)}; clients that connect by such a name refuse it");
        }

        return hints;
    }

    public void Dispose()
    {
        PrivateKey.Dispose();
        parsed.Certificate.Dispose();
    }

    internal static string? RenewalHint(ParsedCertificate own, TimeProvider time)
    {
        var left = own.NotAfter - time.GetUtcNow();
        return left > RenewalTime
            ? null
            : $"our certificate {(left < TimeSpan.Zero ? "ended" : "ends")} on {own.NotAfter:yyyy-MM-dd}; move {PkiStore.OwnCertificateFile} away and restart to make a new one from the same key, which peers must trust again";
    }
}
