using System.Formats.Asn1;
using System.Numerics;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>The certificates that an authority has withdrawn (RFC 5280, 5). Immutable.</summary>
internal sealed class RevocationList
{
    /// <summary>Room for some 25,000 entries.</summary>
    public const int MaxBytes = 1024 * 1024;

    private static readonly Asn1Tag ExtensionsTag = new(TagClass.ContextSpecific, 0, isConstructed: true);

    /// <summary>Number and authority key: they change nothing about who is revoked. A critical one beside them does (a delta list, for instance).</summary>
    private static readonly HashSet<string> HarmlessExtensions = ["2.5.29.20", "2.5.29.35"];

    private readonly HashSet<BigInteger> serials = [];
    private readonly byte[] issuer;

    private RevocationList(ReadOnlyMemory<byte> der)
    {
        Signed = SignedDer.Read(der);
        var list = new AsnReader(Signed.Content, AsnEncodingRules.DER).ReadSequence();
        if (list.PeekTag() == Asn1Tag.Integer)
        {
            list.ReadInteger();
        }

        list.ReadSequence();
        issuer = list.ReadEncodedValue().ToArray();
        ThisUpdate = ReadTime(list);
        NextUpdate = list.HasData && IsTime(list.PeekTag()) ? ReadTime(list) : null;
        if (list.HasData && list.PeekTag() == Asn1Tag.Sequence)
        {
            ReadEntries(list.ReadSequence());
        }

        if (list.HasData && list.PeekTag() == ExtensionsTag)
        {
            ReadExtensions(list.ReadSequence(ExtensionsTag).ReadSequence());
        }
    }

    public SignedDer Signed { get; }

    public DateTimeOffset ThisUpdate { get; }

    /// <summary>Null if the authority does not say when it makes the next one.</summary>
    public DateTimeOffset? NextUpdate { get; }

    /// <summary>A critical extension nobody here understands: the list says less than it seems to. Null if there is none.</summary>
    public string? UnknownCriticalExtension { get; private set; }

    /// <exception cref="CryptographicException">Not a list, or one that is broken.</exception>
    public static RevocationList Parse(ReadOnlyMemory<byte> der)
    {
        try
        {
            return der.Length <= MaxBytes ? new RevocationList(der) : throw new CryptographicException($"{der.Length} bytes; allowed: up to {MaxBytes}");
        }
        catch (AsnContentException e)
        {
            throw new CryptographicException($"not a well-formed revocation list: {e.Message}", e);
        }
    }

    /// <summary>Whether that authority made the list: name, right to do so, and signature.</summary>
    public bool IsOf(ParsedCertificate authority) =>
        issuer.AsSpan().SequenceEqual(authority.Certificate.SubjectName.RawData)
        && (authority.KeyUsage is not { } usage || (usage & X509KeyUsageFlags.CrlSign) != 0)
        && Signed.IsSignedBy(authority.Certificate);

    public bool Revokes(ParsedCertificate certificate) => serials.Contains(new BigInteger(certificate.Certificate.SerialNumberBytes.Span, isBigEndian: true));

    private static bool IsTime(Asn1Tag tag) => tag == Asn1Tag.UtcTime || tag == Asn1Tag.GeneralizedTime;

    private static DateTimeOffset ReadTime(AsnReader reader) => reader.PeekTag() == Asn1Tag.UtcTime ? reader.ReadUtcTime() : reader.ReadGeneralizedTime();

    private void ReadEntries(AsnReader entries)
    {
        while (entries.HasData)
        {
            var entry = entries.ReadSequence();
            serials.Add(entry.ReadInteger());
        }
    }

    private void ReadExtensions(AsnReader extensions)
    {
        while (extensions.HasData)
        {
            var extension = extensions.ReadSequence();
            var identifier = extension.ReadObjectIdentifier();
            if (extension.PeekTag() == Asn1Tag.Boolean && extension.ReadBoolean() && !HarmlessExtensions.Contains(identifier))
            {
                UnknownCriticalExtension = identifier;
            }
        }
    }
}
