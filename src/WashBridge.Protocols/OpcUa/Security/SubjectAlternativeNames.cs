using System.Formats.Asn1;
using System.Net;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// Who a certificate is for: application URI, host names and addresses (Part 6, 6.2.2; RFC 5280, 4.2.1.6). The base library's classes neither
/// read URIs nor write them unchanged, and a peer compares them character for character.
/// </summary>
internal sealed record SubjectAlternativeNames(IReadOnlyList<string> Uris, IReadOnlyList<string> DnsNames, IReadOnlyList<IPAddress> Addresses)
{
    public const string ObjectIdentifier = "2.5.29.17";

    private static readonly Asn1Tag DnsTag = new(TagClass.ContextSpecific, 2);
    private static readonly Asn1Tag UriTag = new(TagClass.ContextSpecific, 6);
    private static readonly Asn1Tag AddressTag = new(TagClass.ContextSpecific, 7);

    public static SubjectAlternativeNames Empty { get; } = new([], [], []);

    /// <exception cref="AsnContentException">Not a list of names.</exception>
    public static SubjectAlternativeNames Read(ReadOnlyMemory<byte> extension)
    {
        List<string> uris = [];
        List<string> names = [];
        List<IPAddress> addresses = [];
        var reader = new AsnReader(extension, AsnEncodingRules.DER).ReadSequence();
        while (reader.HasData)
        {
            var tag = reader.PeekTag();
            if (tag.HasSameClassAndValue(UriTag))
            {
                uris.Add(reader.ReadCharacterString(UniversalTagNumber.IA5String, UriTag));
            }
            else if (tag.HasSameClassAndValue(DnsTag))
            {
                names.Add(reader.ReadCharacterString(UniversalTagNumber.IA5String, DnsTag));
            }
            else if (tag.HasSameClassAndValue(AddressTag))
            {
                var address = reader.ReadOctetString(AddressTag);
                addresses.Add(address.Length is 4 or 16 ? new IPAddress(address) : throw new AsnContentException($"an IP address of {address.Length} bytes"));
            }
            else
            {
                reader.ReadEncodedValue();
            }
        }

        return new SubjectAlternativeNames(uris, names, addresses);
    }

    public X509Extension ToExtension()
    {
        var writer = new AsnWriter(AsnEncodingRules.DER);
        using (writer.PushSequence())
        {
            foreach (var uri in Uris)
            {
                writer.WriteCharacterString(UniversalTagNumber.IA5String, uri, UriTag);
            }

            foreach (var name in DnsNames)
            {
                writer.WriteCharacterString(UniversalTagNumber.IA5String, name, DnsTag);
            }

            foreach (var address in Addresses)
            {
                writer.WriteOctetString(address.GetAddressBytes(), AddressTag);
            }
        }

        return new X509Extension(ObjectIdentifier, writer.Encode(), critical: false);
    }

    /// <summary>Whether the host, a name or an address in text, is one of those here. Wildcards are not names of machines and match nothing.</summary>
    public bool Covers(string host)
    {
        // An address is also taken where a device wrote it as a name.
        var bare = host.Trim('[', ']').TrimEnd('.');
        return DnsNames.Any(name => string.Equals(name.TrimEnd('.'), bare, StringComparison.OrdinalIgnoreCase))
            || (IPAddress.TryParse(bare, out var address) && Addresses.Any(known => known.Equals(address)));
    }
}
