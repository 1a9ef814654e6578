using System.Formats.Asn1;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// The shape that certificates and revocation lists share: what is signed, how, and the signature (RFC 5280, 4.1 and 5.1). The base library
/// verifies whole chains only, with rules that differ between platforms; here each signature is verified by itself, so that a finding can name it.
/// </summary>
internal sealed record SignedDer(ReadOnlyMemory<byte> Content, SignatureAlgorithm Algorithm, ReadOnlyMemory<byte> Signature)
{
    /// <exception cref="AsnContentException">It does not have that shape.</exception>
    public static SignedDer Read(ReadOnlyMemory<byte> der)
    {
        var reader = new AsnReader(der, AsnEncodingRules.DER);
        var outer = reader.ReadSequence();
        reader.ThrowIfNotEmpty();
        var content = outer.ReadEncodedValue();
        var algorithm = SignatureAlgorithm.Read(outer.ReadSequence());
        var signature = outer.ReadBitString(out var unusedBits);
        outer.ThrowIfNotEmpty();
        return unusedBits == 0 ? new SignedDer(content, algorithm, signature) : throw new AsnContentException("the signature is not a whole number of bytes");
    }

    /// <summary>Whether the owner of that certificate's RSA key signed this. False for other kinds of key and for unknown algorithms.</summary>
    public bool IsSignedBy(X509Certificate2 issuer)
    {
        if (Algorithm.Hash is not { } hash)
        {
            return false;
        }

        try
        {
            using var key = issuer.GetRSAPublicKey();
            return key is not null && key.VerifyData(Content.Span, Signature.Span, hash, Algorithm.Padding);
        }
        catch (CryptographicException)
        {
            return false;
        }
    }
}

/// <summary>How a certificate or revocation list is signed.</summary>
/// <param name="Name">For messages.</param>
/// <param name="Hash">Null if it is not RSA with a known hash.</param>
/// <param name="IsStrong">RSA with SHA-256, SHA-384 or SHA-512, as every policy here asks for.</param>
internal sealed record SignatureAlgorithm(string Name, HashAlgorithmName? Hash, RSASignaturePadding Padding, bool IsStrong)
{
    private const string Pss = "1.2.840.113549.1.1.10";

    /// <summary>Object identifier and parameters of an AlgorithmIdentifier (RFC 4055, RFC 8017 appendix A.2).</summary>
    public static SignatureAlgorithm Read(AsnReader identifier)
    {
        var algorithm = identifier.ReadObjectIdentifier();
        return algorithm switch
        {
            "1.2.840.113549.1.1.4" => Rsa("MD5", HashAlgorithmName.MD5, isStrong: false),
            "1.2.840.113549.1.1.5" => Rsa("SHA-1", HashAlgorithmName.SHA1, isStrong: false),
            "1.2.840.113549.1.1.11" => Rsa("SHA-256", HashAlgorithmName.SHA256),
            "1.2.840.113549.1.1.12" => Rsa("SHA-384", HashAlgorithmName.SHA384),
            "1.2.840.113549.1.1.13" => Rsa("SHA-512", HashAlgorithmName.SHA512),
            Pss => ReadPss(identifier),
            _ => new($"algorithm {algorithm}", null, RSASignaturePadding.Pkcs1, IsStrong: false),
        };
    }

    private static SignatureAlgorithm Rsa(string hashName, HashAlgorithmName hash, bool isStrong = true) =>
        new($"RSA with {hashName}", hash, RSASignaturePadding.Pkcs1, isStrong);

    /// <summary>Only the hash is read. A salt of another length than the hash makes the signature invalid, as RFC 4055 asks for equal ones.</summary>
    private static SignatureAlgorithm ReadPss(AsnReader identifier)
    {
        var tag = new Asn1Tag(TagClass.ContextSpecific, 0, isConstructed: true);
        var parameters = identifier.HasData ? identifier.ReadSequence() : null;
        var hash = parameters is { HasData: true } && parameters.PeekTag() == tag ? parameters.ReadSequence(tag).ReadSequence().ReadObjectIdentifier() : "1.3.14.3.2.26";
        var (name, algorithm) = hash switch
        {
            "1.3.14.3.2.26" => ("SHA-1", HashAlgorithmName.SHA1),
            "2.16.840.1.101.3.4.2.1" => ("SHA-256", HashAlgorithmName.SHA256),
            "2.16.840.1.101.3.4.2.2" => ("SHA-384", HashAlgorithmName.SHA384),
            "2.16.840.1.101.3.4.2.3" => ("SHA-512", HashAlgorithmName.SHA512),
            _ => (hash, (HashAlgorithmName?)null),
        };
        return new($"RSA-PSS with {name}", algorithm, RSASignaturePadding.Pss, IsStrong: algorithm is not null && algorithm != HashAlgorithmName.SHA1);
    }
}
