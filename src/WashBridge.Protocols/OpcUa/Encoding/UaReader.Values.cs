using System.Runtime.CompilerServices;

namespace WashBridge.Protocols.OpcUa.Encoding;

/// <content>Types made of others: node ids, variants, data values, extension objects, diagnostics.</content>
public ref partial struct UaReader
{
    private const byte NamespaceUriFlag = 0x80;
    private const byte ServerIndexFlag = 0x40;
    private const int ObjectHeader = 16;

    public NodeId ReadNodeId() => ReadNodeId(ReadByte());

    public ExpandedNodeId ReadExpandedNodeId()
    {
        var form = ReadByte();
        var node = ReadNodeId((byte)(form & 0x3F));
        var uri = (form & NamespaceUriFlag) != 0 ? ReadString() : null;
        return new ExpandedNodeId(node, uri, (form & ServerIndexFlag) != 0 ? ReadUInt32() : 0);
    }

    public DataValue ReadDataValue()
    {
        var mask = ReadByte();
        if (mask > 0x3F)
        {
            throw Malformed($"reserved bits in the mask 0x{mask:X2} of a data value");
        }

        Enter();
        var value = (mask & 0x01) != 0 ? ReadVariant() : default;
        Leave();
        var status = (mask & 0x02) != 0 ? ReadStatusCode() : default;
        DateTime? source = (mask & 0x04) != 0 ? ReadDateTime() : null;
        var sourcePicoseconds = (mask & 0x10) != 0 ? ReadUInt16() : (ushort)0;
        DateTime? server = (mask & 0x08) != 0 ? ReadDateTime() : null;
        var serverPicoseconds = (mask & 0x20) != 0 ? ReadUInt16() : (ushort)0;
        return new DataValue(value, status, source, server, sourcePicoseconds, serverPicoseconds);
    }

    public ExtensionObject ReadExtensionObject()
    {
        var encodingId = ReadNodeId();
        var kind = ReadByte();
        return kind switch
        {
            0 => new ExtensionObject(encodingId, (byte[]?)null),
            1 => new ExtensionObject(encodingId, ReadByteString()),
            2 => new ExtensionObject(encodingId, ReadXmlElement()),
            _ => throw Malformed($"an extension object of kind {kind}; 0, 1 and 2 are defined"),
        };
    }

    /// <summary>
    /// Decodes the next extension object in place. <paramref name="read"/> is given the id of the encoding and the body, and returns null for
    /// what it does not know; so does a body that is absent or XML.
    /// </summary>
    public T? ReadExtension<T>(ReadBody<T> read)
        where T : class
    {
        var encodingId = ReadNodeId();
        var kind = ReadByte();
        if (kind > 2)
        {
            throw Malformed($"an extension object of kind {kind}; 0, 1 and 2 are defined");
        }

        var body = kind == 0 ? [] : ReadByteStringInPlace();
        if (kind != 1)
        {
            return null;
        }

        Enter();
        var within = new UaReader(body, limits) { depth = depth, budget = budget };
        var structure = read(encodingId, ref within);
        budget = within.budget;
        Leave();
        return structure;
    }

    public DiagnosticInfo? ReadDiagnosticInfo()
    {
        var mask = ReadByte();
        if (mask == 0)
        {
            return null;
        }

        if (mask > 0x7F)
        {
            throw Malformed($"reserved bits in the mask 0x{mask:X2} of a diagnostic info");
        }

        Enter();
        Charge(96);
        int? symbolicId = (mask & 0x01) != 0 ? ReadInt32() : null;
        int? namespaceUri = (mask & 0x02) != 0 ? ReadInt32() : null;
        int? locale = (mask & 0x08) != 0 ? ReadInt32() : null;
        int? localizedText = (mask & 0x04) != 0 ? ReadInt32() : null;
        var additionalInfo = (mask & 0x10) != 0 ? ReadString() : null;
        StatusCode? innerStatus = (mask & 0x20) != 0 ? ReadStatusCode() : null;
        var inner = (mask & 0x40) != 0 ? ReadDiagnosticInfo() : null;
        Leave();
        return new DiagnosticInfo
        {
            SymbolicId = symbolicId,
            NamespaceUri = namespaceUri,
            Locale = locale,
            LocalizedText = localizedText,
            AdditionalInfo = additionalInfo,
            InnerStatusCode = innerStatus,
            Inner = inner,
        };
    }

    /// <summary>An array of diagnostics, which this library never asks for.</summary>
    internal void SkipDiagnostics() => ReadArray(static (ref UaReader reader) => reader.ReadDiagnosticInfo());

    /// <summary>An array of signed software certificates: reserved by the standard, without use (OPC 10000-4, 7.38).</summary>
    internal void SkipCertificates() => ReadArray(static (ref UaReader reader) => (reader.ReadByteString(), reader.ReadByteString()));

    public Variant ReadVariant()
    {
        const byte Array = 0x80;
        const byte Matrix = 0x40;

        var head = ReadByte();
        var type = (BuiltInType)(head & 0x3F);
        if ((head & (Array | Matrix)) == 0)
        {
            return ReadScalar(type);
        }

        if ((head & Array) == 0)
        {
            throw Malformed("a variant with dimensions that is no array");
        }

        Enter();
        var elements = ReadElements(type);
        Leave();
        return Variant.FromArray(type, elements, (head & Matrix) != 0 ? ReadDimensions(elements.Length) : null);
    }

    private NodeId ReadNodeId(byte form) => form switch
    {
        0 => new NodeId(0, ReadByte()),
        1 => new NodeId(ReadByte(), ReadUInt16()),
        2 => new NodeId(ReadUInt16(), ReadUInt32()),
        3 => new NodeId(ReadUInt16(), ReadString() ?? ""),
        4 => new NodeId(ReadUInt16(), ReadGuid()),
        5 => new NodeId(ReadUInt16(), ReadByteString() ?? []),
        _ => throw Malformed($"a node id of form 0x{form:X2}; 0 to 5 are defined"),
    };

    private int[]? ReadDimensions(int elements)
    {
        var dimensions = ReadArray(static (ref UaReader reader) => reader.ReadInt32());
        if (dimensions.Length == 0)
        {
            return null;
        }

        var product = 1L;
        foreach (var length in dimensions)
        {
            product = length < 0 || product > limits.MaxArrayLength ? long.MaxValue / int.MaxValue : product * length;
        }

        return product == elements ? dimensions : throw Malformed($"a matrix of {string.Join(" x ", dimensions.Take(8))} with {elements} elements");
    }

    private Variant ReadScalar(BuiltInType type)
    {
        switch (type)
        {
            case BuiltInType.Null: return default;
            case BuiltInType.Boolean: return ReadBoolean();
            case BuiltInType.SByte: return ReadSByte();
            case BuiltInType.Byte: return ReadByte();
            case BuiltInType.Int16: return ReadInt16();
            case BuiltInType.UInt16: return ReadUInt16();
            case BuiltInType.Int32: return ReadInt32();
            case BuiltInType.UInt32: return ReadUInt32();
            case BuiltInType.Int64: return ReadInt64();
            case BuiltInType.UInt64: return ReadUInt64();
            case BuiltInType.Float: return ReadSingle();
            case BuiltInType.Double: return ReadDouble();
            case BuiltInType.String: return ReadString();
            case BuiltInType.DateTime: return ReadDateTime();
            case BuiltInType.Guid: return Boxed(ReadGuid());
            case BuiltInType.ByteString: return Variant.ByteString(ReadByteString());
            case BuiltInType.XmlElement: return Boxed(ReadXmlElement());
            case BuiltInType.NodeId: return Boxed(ReadNodeId());
            case BuiltInType.ExpandedNodeId: return Boxed(ReadExpandedNodeId());
            case BuiltInType.StatusCode: return ReadStatusCode();
            case BuiltInType.QualifiedName: return Boxed(ReadQualifiedName());
            case BuiltInType.LocalizedText: return Boxed(ReadLocalizedText());
            case BuiltInType.ExtensionObject: return Boxed(ReadExtensionObject());
            case BuiltInType.DataValue: return Variant.Of(Boxed(ReadDataValue()));
            case BuiltInType.DiagnosticInfo: return Variant.Of(ReadDiagnosticInfo());

            // Ids up to 31 are reserved for later types, to be passed on as byte strings (OPC 10000-6, 5.2.2.16).
            case > BuiltInType.DiagnosticInfo and <= (BuiltInType)31: return Variant.ByteString(ReadByteString());
            default: throw Malformed($"a variant of type {(byte)type}; scalars are 0 to 25 without 24");
        }
    }

    /// <summary>What a variant holds as an object: two bytes of a message can become a hundred of memory.</summary>
    private T Boxed<T>(T value)
        where T : struct
    {
        Charge(ObjectHeader + Unsafe.SizeOf<T>());
        return value;
    }

    private Array ReadElements(BuiltInType type) => type switch
    {
        BuiltInType.Boolean => ReadArray(static (ref UaReader r) => r.ReadBoolean()),
        BuiltInType.SByte => ReadArray(static (ref UaReader r) => r.ReadSByte()),
        BuiltInType.Byte => ReadArray(static (ref UaReader r) => r.ReadByte()),
        BuiltInType.Int16 => ReadArray(static (ref UaReader r) => r.ReadInt16()),
        BuiltInType.UInt16 => ReadArray(static (ref UaReader r) => r.ReadUInt16()),
        BuiltInType.Int32 => ReadArray(static (ref UaReader r) => r.ReadInt32()),
        BuiltInType.UInt32 => ReadArray(static (ref UaReader r) => r.ReadUInt32()),
        BuiltInType.Int64 => ReadArray(static (ref UaReader r) => r.ReadInt64()),
        BuiltInType.UInt64 => ReadArray(static (ref UaReader r) => r.ReadUInt64()),
        BuiltInType.Float => ReadArray(static (ref UaReader r) => r.ReadSingle()),
        BuiltInType.Double => ReadArray(static (ref UaReader r) => r.ReadDouble()),
        BuiltInType.String => ReadArray(static (ref UaReader r) => r.ReadString()),
        BuiltInType.DateTime => ReadArray(static (ref UaReader r) => r.ReadDateTime()),
        BuiltInType.Guid => ReadArray(static (ref UaReader r) => r.ReadGuid()),
        BuiltInType.ByteString => ReadArray(static (ref UaReader r) => r.ReadByteString()),
        BuiltInType.XmlElement => ReadArray(static (ref UaReader r) => r.ReadXmlElement()),
        BuiltInType.NodeId => ReadArray(static (ref UaReader r) => r.ReadNodeId()),
        BuiltInType.ExpandedNodeId => ReadArray(static (ref UaReader r) => r.ReadExpandedNodeId()),
        BuiltInType.StatusCode => ReadArray(static (ref UaReader r) => r.ReadStatusCode()),
        BuiltInType.QualifiedName => ReadArray(static (ref UaReader r) => r.ReadQualifiedName()),
        BuiltInType.LocalizedText => ReadArray(static (ref UaReader r) => r.ReadLocalizedText()),
        BuiltInType.ExtensionObject => ReadArray(static (ref UaReader r) => r.ReadExtensionObject()),
        BuiltInType.DataValue => ReadArray(static (ref UaReader r) => r.ReadDataValue()),
        BuiltInType.Variant => ReadArray(static (ref UaReader r) => r.ReadVariant()),
        BuiltInType.DiagnosticInfo => ReadArray(static (ref UaReader r) => r.ReadDiagnosticInfo()),
        _ => throw Malformed($"an array of type {(byte)type}; 1 to 25 are defined"),
    };
}
