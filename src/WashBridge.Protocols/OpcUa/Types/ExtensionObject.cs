using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa;

/// <summary>A structure whose type is told by the id of its encoding (OPC 10000-6, 5.2.2.15).</summary>
public readonly struct ExtensionObject : IEquatable<ExtensionObject>
{
    private readonly object? body;

    /// <summary>A structure as it came: bytes of a type that need not be known here.</summary>
    public ExtensionObject(NodeId encodingId, byte[]? bytes) => (EncodingId, body) = (encodingId, bytes);

    public ExtensionObject(NodeId encodingId, XmlElement xml) => (EncodingId, body) = (encodingId, xml);

    private ExtensionObject(NodeId encodingId, IStructure structure) => (EncodingId, body) = (encodingId, structure);

    /// <summary>The id of the DataTypeEncoding node, not of the data type.</summary>
    public NodeId EncodingId { get; }

    /// <summary>Null unless binary.</summary>
    public byte[]? Bytes => body as byte[];

    /// <summary>Null unless XML.</summary>
    public XmlElement? Xml => body as XmlElement?;

    /// <summary>What is to be encoded; null unless made with <see cref="Of"/>.</summary>
    internal IStructure? Structure => body as IStructure;

    public static bool operator ==(ExtensionObject left, ExtensionObject right) => left.Equals(right);

    public static bool operator !=(ExtensionObject left, ExtensionObject right) => !left.Equals(right);

    public static ExtensionObject Of<T>(T structure)
        where T : IEncodable<T> => new(new NodeId(T.EncodingId), structure);

    /// <summary>Decodes the body if it is a <typeparamref name="T"/>.</summary>
    /// <exception cref="UaException">BadDecodingError or BadEncodingLimitsExceeded: the body is not what its id says.</exception>
    public bool TryDecode<T>(DecodingLimits limits, out T? structure)
        where T : IEncodable<T>
    {
        structure = default;
        if (EncodingId != new NodeId(T.EncodingId))
        {
            return false;
        }

        if (body is T same)
        {
            structure = same;
            return true;
        }

        if (body is not byte[] bytes)
        {
            return false;
        }

        var reader = new UaReader(bytes, limits);
        structure = T.Read(ref reader);
        return true;
    }

    public bool Equals(ExtensionObject other) => EncodingId == other.EncodingId && (body, other.body) switch
    {
        (byte[] mine, byte[] theirs) => mine.AsSpan().SequenceEqual(theirs),
        _ => Equals(body, other.body),
    };

    public override bool Equals(object? obj) => obj is ExtensionObject other && Equals(other);

    public override int GetHashCode() => EncodingId.GetHashCode();

    public override string ToString() => $"structure {EncodingId}";
}
