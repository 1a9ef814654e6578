using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>What a certificate for a test says. By default that of a good server.</summary>
internal sealed record Wish
{
    public string Subject { get; init; } = "CN=Washer 2,O=Brewery";

    public string? Uri { get; init; } = "urn:washer-2:controller";

    public string? Host { get; init; } = "washer-2";

    public string? Address { get; init; } = "192.0.2.7";

    public DateTimeOffset From { get; init; } = new(2026, 1, 1, 0, 0, 0, TimeSpan.Zero);

    public DateTimeOffset To { get; init; } = new(2027, 1, 1, 0, 0, 0, TimeSpan.Zero);

    public RSA Key { get; init; } = Keys.First;

    public HashAlgorithmName Hash { get; init; } = HashAlgorithmName.SHA256;

    public RSASignaturePadding Padding { get; init; } = RSASignaturePadding.Pkcs1;

    public bool IsAuthority { get; init; }

    public int? PathLength { get; init; }

    public X509KeyUsageFlags? Usage { get; init; } = X509KeyUsageFlags.DigitalSignature | X509KeyUsageFlags.NonRepudiation | X509KeyUsageFlags.KeyEncipherment | X509KeyUsageFlags.DataEncipherment;

    public string[]? Extended { get; init; } = ["1.3.6.1.5.5.7.3.1", "1.3.6.1.5.5.7.3.2"];

    public string? CriticalExtension { get; init; }
}

/// <summary>Makes certificates and revocation lists, good and faulty, with the base library's builders instead of our own code.</summary>
internal sealed class Authority
{
    private static byte lastSerial;

    private readonly Wish wish;

    private Authority(X509Certificate2 certificate, Wish wish)
    {
        Certificate = certificate;
        this.wish = wish;
    }

    /// <summary>With the private key.</summary>
    public X509Certificate2 Certificate { get; }

    public byte[] Der => Certificate.RawData;

    public static Wish RootWish => new()
    {
        Subject = "CN=Plant authority",
        Uri = null,
        Host = null,
        Address = null,
        Key = Keys.Of3072Bits,
        IsAuthority = true,
        Usage = X509KeyUsageFlags.KeyCertSign | X509KeyUsageFlags.CrlSign,
        Extended = null,
    };

    public static Authority Root(Wish? wish = null)
    {
        wish ??= RootWish;
        return new Authority(Request(wish).CreateSelfSigned(wish.From, wish.To), wish);
    }

    /// <summary>As the base library has it.</summary>
    public static string Thumbprint(byte[] der) => X509CertificateLoader.LoadCertificate(der).Thumbprint;

    public static byte[] SelfSigned(Wish wish) => Request(wish).CreateSelfSigned(wish.From, wish.To).RawData;

    public byte[] Issue(Wish requested) => Sign(requested).RawData;

    public Authority Subordinate(Wish requested) => new(Sign(requested).CopyWithPrivateKey(requested.Key), requested);

    /// <summary>A list of revoked certificates, valid from 1 May to 1 July 2026 unless said otherwise.</summary>
    public byte[] List(DateTimeOffset? next = null, params byte[][] revoked)
    {
        var list = new CertificateRevocationListBuilder();
        foreach (var der in revoked)
        {
            using var certificate = X509CertificateLoader.LoadCertificate(der);
            list.AddEntry(certificate);
        }

        return list.Build(
            Certificate, 1, next ?? new DateTimeOffset(2026, 7, 1, 0, 0, 0, TimeSpan.Zero), wish.Hash, RSASignaturePadding.Pkcs1, new DateTimeOffset(2026, 5, 1, 0, 0, 0, TimeSpan.Zero));
    }

    private static CertificateRequest Request(Wish wish)
    {
        var request = new CertificateRequest(wish.Subject, wish.Key, wish.Hash, wish.Padding);
        if (wish.Usage is { } usage)
        {
            request.CertificateExtensions.Add(new X509KeyUsageExtension(usage, critical: true));
        }

        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(wish.IsAuthority, wish.PathLength is not null, wish.PathLength ?? 0, critical: true));
        if (wish.Extended is { } extended)
        {
            request.CertificateExtensions.Add(new X509EnhancedKeyUsageExtension([.. extended.Select(value => new Oid(value))], critical: false));
        }

        if (wish.CriticalExtension is { } identifier)
        {
            request.CertificateExtensions.Add(new X509Extension(identifier, [5, 0], critical: true));
        }

        var names = new SubjectAlternativeNameBuilder();
        if (wish.Uri is not null)
        {
            names.AddUri(new Uri(wish.Uri));
        }

        if (wish.Host is not null)
        {
            names.AddDnsName(wish.Host);
        }

        if (wish.Address is not null)
        {
            names.AddIpAddress(IPAddress.Parse(wish.Address));
        }

        if (wish.Uri is not null || wish.Host is not null || wish.Address is not null)
        {
            request.CertificateExtensions.Add(names.Build());
        }

        return request;
    }

    private X509Certificate2 Sign(Wish requested)
    {
        var generator = X509SignatureGenerator.CreateForRSA(wish.Key, requested.Padding);
        return Request(requested).Create(Certificate.SubjectName, generator, requested.From, requested.To, [1, ++lastSerial]);
    }
}
