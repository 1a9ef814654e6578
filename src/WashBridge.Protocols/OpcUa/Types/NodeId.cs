using System.Diagnostics.CodeAnalysis;
using System.Globalization;

namespace WashBridge.Protocols.OpcUa;

public enum IdentifierType : byte
{
    Numeric,
    String,
    Guid,
    Opaque,
}

/// <summary>The identifier of a node (OPC 10000-3, 8.2), written <c>ns=2;s=Station1</c> (OPC 10000-6, 5.3.1.10).</summary>
public readonly struct NodeId : IEquatable<NodeId>
{
    private readonly object? identifier;
    private readonly uint number;

    public NodeId(ushort ns, uint number) => (Namespace, Kind, this.number) = (ns, IdentifierType.Numeric, number);

    public NodeId(ushort ns, string text) => (Namespace, Kind, identifier) = (ns, IdentifierType.String, text);

    public NodeId(ushort ns, Guid guid) => (Namespace, Kind, identifier) = (ns, IdentifierType.Guid, guid);

    public NodeId(ushort ns, byte[] opaque) => (Namespace, Kind, identifier) = (ns, IdentifierType.Opaque, opaque);

    /// <summary>A numeric identifier in namespace 0, where the standard's own nodes are.</summary>
    public NodeId(uint number)
        : this(0, number)
    {
    }

    /// <summary><c>i=0</c> in namespace 0: no node.</summary>
    public static NodeId Null => default;

    public ushort Namespace { get; }

    public IdentifierType Kind { get; }

    public bool IsNull => Namespace == 0 && (identifier, Kind) switch
    {
        (_, IdentifierType.Numeric) => number == 0,
        (string text, _) => text.Length == 0,
        (Guid guid, _) => guid == Guid.Empty,
        (byte[] opaque, _) => opaque.Length == 0,
        _ => true,
    };

    /// <summary>0 unless numeric.</summary>
    public uint Number => number;

    /// <summary>Null unless a string.</summary>
    public string? Text => identifier as string;

    public Guid Guid => identifier is Guid guid ? guid : Guid.Empty;

    /// <summary>Empty unless opaque.</summary>
    public ReadOnlySpan<byte> Opaque => identifier as byte[];

    /// <summary>The part behind the namespace, such as <c>s=Station1</c>.</summary>
    public string Identifier => Kind switch
    {
        IdentifierType.Numeric => $"i={number}",
        IdentifierType.String => $"s={identifier}",
        IdentifierType.Guid => $"g={identifier}",
        _ => $"b={Convert.ToBase64String(Opaque)}",
    };

    public static bool operator ==(NodeId left, NodeId right) => left.Equals(right);

    public static bool operator !=(NodeId left, NodeId right) => !left.Equals(right);

    /// <exception cref="FormatException">Not of the form <c>ns=2;s=Station1</c>.</exception>
    public static NodeId Parse(string text) => TryParse(text, out var node)
        ? node
        : throw new FormatException($"\"{text}\" is no node id; written like ns=2;s=Station1 or ns=2;i=1234 (also g= for a GUID, b= for base64; ns=0 may be left away)");

    public static bool TryParse([NotNullWhen(true)] string? text, out NodeId node)
    {
        node = default;
        if (text is null)
        {
            return false;
        }

        ushort ns = 0;
        var rest = text.AsSpan();
        if (rest.StartsWith("ns="))
        {
            var end = rest.IndexOf(';');
            if (end < 0 || !ushort.TryParse(rest[3..end], NumberStyles.None, CultureInfo.InvariantCulture, out ns))
            {
                return false;
            }

            rest = rest[(end + 1)..];
        }

        return TryParseIdentifier(ns, rest, out node);
    }

    public bool Equals(NodeId other) => Namespace == other.Namespace && Kind == other.Kind && Kind switch
    {
        IdentifierType.Numeric => number == other.number,
        IdentifierType.Opaque => Opaque.SequenceEqual(other.Opaque),
        IdentifierType.String => string.Equals((string?)identifier ?? "", (string?)other.identifier ?? "", StringComparison.Ordinal),
        _ => Equals(identifier, other.identifier),
    };

    public override bool Equals(object? obj) => obj is NodeId other && Equals(other);

    public override int GetHashCode()
    {
        var hash = default(HashCode);
        hash.Add(Namespace);
        hash.Add(Kind);
        switch (Kind)
        {
            case IdentifierType.Numeric:
                hash.Add(number);
                break;
            case IdentifierType.Opaque:
                hash.AddBytes(Opaque);
                break;
            case IdentifierType.String:
                hash.Add((string?)identifier ?? "", StringComparer.Ordinal);
                break;
            default:
                hash.Add(identifier);
                break;
        }

        return hash.ToHashCode();
    }

    public override string ToString() => Namespace == 0 ? Identifier : $"ns={Namespace};{Identifier}";

    private static bool TryParseIdentifier(ushort ns, ReadOnlySpan<char> text, out NodeId node)
    {
        node = default;
        if (text.Length < 2 || text[1] != '=')
        {
            return false;
        }

        var value = text[2..];
        switch (text[0])
        {
            case 'i' when uint.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out var number):
                node = new NodeId(ns, number);
                return true;
            case 's' when value.Length > 0:
                node = new NodeId(ns, value.ToString());
                return true;
            case 'g' when Guid.TryParseExact(value, "D", out var guid):
                node = new NodeId(ns, guid);
                return true;
            case 'b':
                var opaque = new byte[value.Length];
                if (Convert.TryFromBase64Chars(value, opaque, out var length))
                {
                    node = new NodeId(ns, opaque[..length]);
                    return true;
                }

                return false;
            default:
                return false;
        }
    }
}
