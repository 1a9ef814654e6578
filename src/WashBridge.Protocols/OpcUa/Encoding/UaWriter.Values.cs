namespace WashBridge.Protocols.OpcUa.Encoding;

/// <content>Types made of others: node ids, variants, data values, extension objects, diagnostics.</content>
public sealed partial class UaWriter
{
    public void WriteNodeId(NodeId value) => WriteNodeId(value, value.Namespace, flags: 0);

    /// <summary>Beside a URI the namespace index is written as 0 (OPC 10000-6, 5.2.2.10).</summary>
    public void WriteExpandedNodeId(ExpandedNodeId value)
    {
        var ns = value.NamespaceUri is null ? value.Node.Namespace : (ushort)0;
        WriteNodeId(value.Node, ns, (byte)((value.NamespaceUri is null ? 0 : 0x80) | (value.ServerIndex == 0 ? 0 : 0x40)));
        if (value.NamespaceUri is not null)
        {
            WriteString(value.NamespaceUri);
        }

        if (value.ServerIndex != 0)
        {
            WriteUInt32(value.ServerIndex);
        }
    }

    public void WriteDataValue(DataValue value)
    {
        WriteByte((byte)(
            (value.Value.IsNull ? 0 : 0x01)
            | (value.Status.Value == 0 ? 0 : 0x02)
            | (value.SourceTimestamp is null ? 0 : 0x04)
            | (value.ServerTimestamp is null ? 0 : 0x08)
            | (value.SourcePicoseconds == 0 ? 0 : 0x10)
            | (value.ServerPicoseconds == 0 ? 0 : 0x20)));
        if (!value.Value.IsNull)
        {
            WriteVariant(value.Value);
        }

        if (value.Status.Value != 0)
        {
            WriteStatusCode(value.Status);
        }

        WriteTime(value.SourceTimestamp, value.SourcePicoseconds);
        WriteTime(value.ServerTimestamp, value.ServerPicoseconds);
    }

    public void WriteExtensionObject(ExtensionObject value)
    {
        WriteNodeId(value.EncodingId);
        switch (value)
        {
            case { Structure: { } structure }:
                WriteByte(1);
                WriteSized(structure);
                break;
            case { Bytes: { } bytes }:
                WriteByte(1);
                WriteByteString(bytes);
                break;
            case { Xml: { } xml }:
                WriteByte(2);
                WriteXmlElement(xml);
                break;
            default:
                WriteByte(0);
                break;
        }
    }

    public void WriteExtension<T>(T structure)
        where T : IEncodable<T>
    {
        WriteNodeId(new NodeId(T.EncodingId));
        WriteByte(1);
        WriteSized(structure);
    }

    public void WriteDiagnosticInfo(DiagnosticInfo? value)
    {
        if (value is null)
        {
            WriteByte(0);
            return;
        }

        WriteByte((byte)(
            (value.SymbolicId is null ? 0 : 0x01)
            | (value.NamespaceUri is null ? 0 : 0x02)
            | (value.LocalizedText is null ? 0 : 0x04)
            | (value.Locale is null ? 0 : 0x08)
            | (value.AdditionalInfo is null ? 0 : 0x10)
            | (value.InnerStatusCode is null ? 0 : 0x20)
            | (value.Inner is null ? 0 : 0x40)));
        WriteOptional(value.SymbolicId);
        WriteOptional(value.NamespaceUri);
        WriteOptional(value.Locale);
        WriteOptional(value.LocalizedText);
        if (value.AdditionalInfo is not null)
        {
            WriteString(value.AdditionalInfo);
        }

        if (value.InnerStatusCode is { } status)
        {
            WriteStatusCode(status);
        }

        if (value.Inner is not null)
        {
            WriteDiagnosticInfo(value.Inner);
        }
    }

    public void WriteVariant(Variant value)
    {
        if (!value.IsArray)
        {
            WriteByte((byte)value.Type);
            WriteScalar(value);
            return;
        }

        WriteByte((byte)((byte)value.Type | 0x80 | (value.Dimensions is null ? 0 : 0x40)));
        WriteElements(value.Elements!);
        if (value.Dimensions is { } dimensions)
        {
            WriteArray(dimensions, static (writer, length) => writer.WriteInt32(length));
        }
    }

    /// <summary>The shortest form that holds the id (OPC 10000-6, 5.2.2.9).</summary>
    private void WriteNodeId(NodeId value, ushort ns, byte flags)
    {
        switch (value.Kind)
        {
            case IdentifierType.Numeric when ns == 0 && value.Number <= byte.MaxValue:
                WriteByte(flags);
                WriteByte((byte)value.Number);
                break;
            case IdentifierType.Numeric when ns <= byte.MaxValue && value.Number <= ushort.MaxValue:
                WriteByte((byte)(1 | flags));
                WriteByte((byte)ns);
                WriteUInt16((ushort)value.Number);
                break;
            case IdentifierType.Numeric:
                WriteByte((byte)(2 | flags));
                WriteUInt16(ns);
                WriteUInt32(value.Number);
                break;
            case IdentifierType.String:
                WriteByte((byte)(3 | flags));
                WriteUInt16(ns);
                WriteString(value.Text);
                break;
            case IdentifierType.Guid:
                WriteByte((byte)(4 | flags));
                WriteUInt16(ns);
                WriteGuid(value.Guid);
                break;
            default:
                WriteByte((byte)(5 | flags));
                WriteUInt16(ns);
                WriteByteString(value.Opaque);
                break;
        }
    }

    private void WriteSized(IStructure structure)
    {
        var start = Length;
        WriteInt32(0);
        structure.Write(this);
        System.Buffers.Binary.BinaryPrimitives.WriteInt32LittleEndian(Slice(start, 4), Length - start - 4);
    }

    private void WriteTime(DateTime? time, ushort picoseconds)
    {
        if (time is { } known)
        {
            WriteDateTime(known);
        }

        if (picoseconds != 0)
        {
            WriteUInt16(picoseconds);
        }
    }

    private void WriteOptional(int? value)
    {
        if (value is { } known)
        {
            WriteInt32(known);
        }
    }

    private void WriteScalar(Variant value)
    {
        switch (value.Type)
        {
            case BuiltInType.Null:
                break;
            case BuiltInType.Boolean or BuiltInType.SByte or BuiltInType.Byte:
                WriteByte((byte)value.Bits);
                break;
            case BuiltInType.Int16 or BuiltInType.UInt16:
                WriteInt16((short)value.Bits);
                break;
            case BuiltInType.Int32 or BuiltInType.UInt32 or BuiltInType.Float or BuiltInType.StatusCode:
                WriteInt32((int)value.Bits);
                break;
            case BuiltInType.Int64 or BuiltInType.UInt64 or BuiltInType.Double:
                WriteInt64(value.Bits);
                break;
            case BuiltInType.DateTime:
                WriteDateTime(new DateTime(value.Bits, DateTimeKind.Utc));
                break;
            case BuiltInType.String:
                WriteString((string?)value.Content);
                break;
            case BuiltInType.ByteString:
                WriteByteString((byte[]?)value.Content);
                break;
            case BuiltInType.DiagnosticInfo:
                WriteDiagnosticInfo((DiagnosticInfo?)value.Content);
                break;
            default:
                WriteBoxed(value.Content!);
                break;
        }
    }

    private void WriteBoxed(object content)
    {
        switch (content)
        {
            case Guid guid:
                WriteGuid(guid);
                break;
            case XmlElement xml:
                WriteXmlElement(xml);
                break;
            case NodeId node:
                WriteNodeId(node);
                break;
            case ExpandedNodeId node:
                WriteExpandedNodeId(node);
                break;
            case QualifiedName name:
                WriteQualifiedName(name);
                break;
            case LocalizedText text:
                WriteLocalizedText(text);
                break;
            case ExtensionObject structure:
                WriteExtensionObject(structure);
                break;
            case DataValue inner:
                WriteDataValue(inner);
                break;
            default:
                throw new UaException(StatusCodes.BadEncodingError, $"a variant of {content.GetType().Name} cannot be encoded");
        }
    }

    private void WriteElements(Array elements)
    {
        switch (elements)
        {
            case bool[] array: WriteArray(array, static (w, e) => w.WriteBoolean(e)); break;
            case sbyte[] array when array.GetType() == typeof(sbyte[]): WriteArray(array, static (w, e) => w.WriteSByte(e)); break;
            case byte[] array: WriteByteString(array.AsSpan()); break;
            case short[] array when array.GetType() == typeof(short[]): WriteArray(array, static (w, e) => w.WriteInt16(e)); break;
            case ushort[] array: WriteArray(array, static (w, e) => w.WriteUInt16(e)); break;
            case int[] array when array.GetType() == typeof(int[]): WriteArray(array, static (w, e) => w.WriteInt32(e)); break;
            case uint[] array: WriteArray(array, static (w, e) => w.WriteUInt32(e)); break;
            case long[] array when array.GetType() == typeof(long[]): WriteArray(array, static (w, e) => w.WriteInt64(e)); break;
            case ulong[] array: WriteArray(array, static (w, e) => w.WriteUInt64(e)); break;
            case float[] array: WriteArray(array, static (w, e) => w.WriteSingle(e)); break;
            case double[] array: WriteArray(array, static (w, e) => w.WriteDouble(e)); break;
            case string?[] array: WriteArray(array, static (w, e) => w.WriteString(e)); break;
            case DateTime[] array: WriteArray(array, static (w, e) => w.WriteDateTime(e)); break;
            case Guid[] array: WriteArray(array, static (w, e) => w.WriteGuid(e)); break;
            case byte[]?[] array: WriteArray(array, static (w, e) => w.WriteByteString(e)); break;
            case XmlElement[] array: WriteArray(array, static (w, e) => w.WriteXmlElement(e)); break;
            case NodeId[] array: WriteArray(array, static (w, e) => w.WriteNodeId(e)); break;
            case ExpandedNodeId[] array: WriteArray(array, static (w, e) => w.WriteExpandedNodeId(e)); break;
            case StatusCode[] array: WriteArray(array, static (w, e) => w.WriteStatusCode(e)); break;
            case QualifiedName[] array: WriteArray(array, static (w, e) => w.WriteQualifiedName(e)); break;
            case LocalizedText[] array: WriteArray(array, static (w, e) => w.WriteLocalizedText(e)); break;
            case ExtensionObject[] array: WriteArray(array, static (w, e) => w.WriteExtensionObject(e)); break;
            case DataValue[] array: WriteArray(array, static (w, e) => w.WriteDataValue(e)); break;
            case Variant[] array: WriteArray(array, static (w, e) => w.WriteVariant(e)); break;
            case DiagnosticInfo?[] array: WriteArray(array, static (w, e) => w.WriteDiagnosticInfo(e)); break;
            default: throw new UaException(StatusCodes.BadEncodingError, $"an array of {elements.GetType().Name} cannot be encoded");
        }
    }
}
