using System.Formats.Asn1;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>Certificates one after the other, as they travel in a ByteString: the end certificate first, then its issuers (Part 6, 6.2.6).</summary>
public static class CertificateChain
{
    /// <summary>Most certificates that are looked at.</summary>
    public const int MaxCertificates = 10;

    /// <summary>The DER form of each certificate, without copying. Only the outermost length of each is looked at.</summary>
    /// <exception cref="UaException">BadCertificateInvalid: empty, cut short, too many, or something else than certificates.</exception>
    public static IReadOnlyList<ReadOnlyMemory<byte>> Split(ReadOnlyMemory<byte> chain) =>
        TrySplit(chain, out var parts) is { } problem ? throw Invalid(problem) : parts;

    /// <summary>The end certificate alone: what thumbprints and session signatures are made over.</summary>
    /// <exception cref="UaException">BadCertificateInvalid.</exception>
    public static ReadOnlyMemory<byte> Leaf(ReadOnlyMemory<byte> chain) => Split(chain)[0];

    /// <summary>The public key of the end certificate, which the caller disposes of.</summary>
    /// <exception cref="UaException">BadCertificateInvalid: broken, or the key is not RSA.</exception>
    public static RSA LeafPublicKey(ReadOnlyMemory<byte> chain)
    {
        try
        {
            using var certificate = X509CertificateLoader.LoadCertificate(Leaf(chain).Span);
            return certificate.GetRSAPublicKey() ?? throw Invalid("its key is not RSA");
        }
        catch (CryptographicException e)
        {
            throw Invalid(e.Message);
        }
    }

    /// <summary>SHA-1 over the end certificate, as the security header of an asymmetric message names its receiver (Part 6, 6.7.2.3).</summary>
    /// <exception cref="UaException">BadCertificateInvalid.</exception>
    public static byte[] LeafThumbprint(ReadOnlyMemory<byte> chain) => Thumbprint(Leaf(chain).Span);

    /// <returns>What is wrong; null if nothing is.</returns>
    internal static string? TrySplit(ReadOnlyMemory<byte> chain, out IReadOnlyList<ReadOnlyMemory<byte>> certificates)
    {
        List<ReadOnlyMemory<byte>> parts = [];
        certificates = parts;
        for (var rest = chain; !rest.IsEmpty || parts.Count == 0;)
        {
            if (parts.Count == MaxCertificates)
            {
                return $"more than {MaxCertificates} certificates";
            }

            if (!AsnDecoder.TryReadEncodedValue(rest.Span, AsnEncodingRules.DER, out var tag, out _, out _, out var length) || tag != Asn1Tag.Sequence)
            {
                return rest.IsEmpty ? "there is none" : $"certificate {parts.Count + 1} is cut short or not in DER form";
            }

            parts.Add(rest[..length]);
            rest = rest[length..];
        }

        return null;
    }

    // The standard asks for SHA-1 here: it names a certificate and protects nothing.
#pragma warning disable CA5350
    internal static byte[] Thumbprint(ReadOnlySpan<byte> der) => SHA1.HashData(der);
#pragma warning restore CA5350

    private static UaException Invalid(string found) => new(StatusCodes.BadCertificateInvalid, $"the certificate cannot be read: {found}");
}
