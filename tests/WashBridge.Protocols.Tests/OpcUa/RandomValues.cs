using System.Text;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Protocols.Tests.OpcUa;

/// <summary>
/// Random values of every built-in type. What node-opcua cannot tell apart is left out: absent and empty texts in a LocalizedText, structures
/// with an XML body, status codes that the standard does not list, picoseconds without a time, NaN other than the usual one.
/// </summary>
internal sealed class RandomValues(int seed)
{
    private static readonly DateTime Epoch = new(1601, 1, 1, 0, 0, 0, DateTimeKind.Utc);
    private static readonly DateTime LastDay = new(9999, 12, 31, 0, 0, 0, DateTimeKind.Utc);
    private static readonly StatusCode[] Listed =
    [
        StatusCodes.Good, StatusCodes.GoodOverload, StatusCodes.GoodClamped, StatusCodes.UncertainLastUsableValue, StatusCodes.UncertainSubNormal,
        StatusCodes.BadUnexpectedError, StatusCodes.BadCommunicationError, StatusCodes.BadTimeout, StatusCodes.BadNodeIdUnknown, StatusCodes.BadSensorFailure,
    ];

    private readonly Random random = new(seed);

    /// <summary>A value of the type, or a variant with an array or a matrix of it.</summary>
    public Variant Variant(int depth)
    {
        var type = (BuiltInType)random.Next(0, 26);
        var isArray = type == BuiltInType.Variant || random.Next(3) == 0;
        return !isArray ? Scalar(type, depth)
            : random.Next(3) == 0 ? Matrix(type, depth)
            : Array(type, random.Next(0, 12), null, depth);
    }

    public object Value(BuiltInType type, int depth = 2) => type switch
    {
        BuiltInType.Boolean => random.Next(2) == 0,
        BuiltInType.SByte => (sbyte)Bits(8),
        BuiltInType.Byte => (byte)Bits(8),
        BuiltInType.Int16 => (short)Bits(16),
        BuiltInType.UInt16 => (ushort)Bits(16),
        BuiltInType.Int32 => (int)Bits(32),
        BuiltInType.UInt32 => (uint)Bits(32),
        BuiltInType.Int64 => (long)Bits(64),
        BuiltInType.UInt64 => Bits(64),
        BuiltInType.Float => Single(),
        BuiltInType.Double => Double(),
        BuiltInType.String => Text(),
        BuiltInType.DateTime => Time(),
        BuiltInType.Guid => Guid(),
        BuiltInType.ByteString => Bytes(random.Next(0, 40)),
        BuiltInType.XmlElement => new XmlElement($"<keg>{Text()}</keg>"),
        BuiltInType.NodeId => Node(),
        BuiltInType.ExpandedNodeId => ExpandedNode(),
        BuiltInType.StatusCode => Status(),
        BuiltInType.QualifiedName => new QualifiedName((ushort)Bits(16), Text(1)),
        BuiltInType.LocalizedText => new LocalizedText(random.Next(2) == 0 ? null : "en", random.Next(4) == 0 ? null : Text(1)),
        BuiltInType.ExtensionObject => Structure(),
        BuiltInType.DataValue => DataValue(depth - 1),
        BuiltInType.DiagnosticInfo => Diagnostic(depth),
        _ => Variant(depth - 1),
    };

    private Variant Scalar(BuiltInType type, int depth) => Value(depth <= 0 && IsDeep(type) ? BuiltInType.Int32 : type, depth) switch
    {
        _ when type == BuiltInType.Null => default,
        bool v => v,
        sbyte v => v,
        byte v => v,
        short v => v,
        ushort v => v,
        int v => v,
        uint v => v,
        long v => v,
        ulong v => v,
        float v => v,
        double v => v,
        string v => random.Next(10) == 0 ? (string?)null : v,
        DateTime v => v,
        Guid v => v,
        byte[] v => Protocols.OpcUa.Variant.ByteString(random.Next(10) == 0 ? null : v),
        XmlElement v => v,
        NodeId v => v,
        ExpandedNodeId v => v,
        StatusCode v => v,
        QualifiedName v => v,
        LocalizedText v => v,
        ExtensionObject v => v,
        DataValue v => Protocols.OpcUa.Variant.Of(v),
        DiagnosticInfo v => Protocols.OpcUa.Variant.Of(v),
        _ => default,
    };

    private static bool IsDeep(BuiltInType type) => type is BuiltInType.DataValue or BuiltInType.Variant or BuiltInType.DiagnosticInfo;

    private Variant Matrix(BuiltInType type, int depth)
    {
        int[] dimensions = [.. Enumerable.Range(0, random.Next(2, 4)).Select(_ => random.Next(1, 4))];
        return Array(type, dimensions.Aggregate((a, b) => a * b), dimensions, depth);
    }

    private Variant Array(BuiltInType type, int length, int[]? dimensions, int depth) => (depth <= 0 && IsDeep(type) ? BuiltInType.Null : type) switch
    {
        BuiltInType.Boolean => Array<bool>(type, length, dimensions, depth),
        BuiltInType.SByte => Array<sbyte>(type, length, dimensions, depth),
        BuiltInType.Byte => Array<byte>(type, length, dimensions, depth),
        BuiltInType.Int16 => Array<short>(type, length, dimensions, depth),
        BuiltInType.UInt16 => Array<ushort>(type, length, dimensions, depth),
        BuiltInType.Int32 => Array<int>(type, length, dimensions, depth),
        BuiltInType.UInt32 => Array<uint>(type, length, dimensions, depth),
        BuiltInType.Int64 => Array<long>(type, length, dimensions, depth),
        BuiltInType.UInt64 => Array<ulong>(type, length, dimensions, depth),
        BuiltInType.Float => Array<float>(type, length, dimensions, depth),
        BuiltInType.Double => Array<double>(type, length, dimensions, depth),
        BuiltInType.String => Array<string>(type, length, dimensions, depth),
        BuiltInType.DateTime => Array<DateTime>(type, length, dimensions, depth),
        BuiltInType.Guid => Array<Guid>(type, length, dimensions, depth),
        BuiltInType.ByteString => Array<byte[]>(type, length, dimensions, depth),
        BuiltInType.XmlElement => Array<XmlElement>(type, length, dimensions, depth),
        BuiltInType.NodeId => Array<NodeId>(type, length, dimensions, depth),
        BuiltInType.ExpandedNodeId => Array<ExpandedNodeId>(type, length, dimensions, depth),
        BuiltInType.StatusCode => Array<StatusCode>(type, length, dimensions, depth),
        BuiltInType.QualifiedName => Array<QualifiedName>(type, length, dimensions, depth),
        BuiltInType.LocalizedText => Array<LocalizedText>(type, length, dimensions, depth),
        BuiltInType.ExtensionObject => Array<ExtensionObject>(type, length, dimensions, depth),
        BuiltInType.DataValue => Array<DataValue>(type, length, dimensions, depth),
        BuiltInType.DiagnosticInfo => Array<DiagnosticInfo>(type, length, dimensions, depth),
        BuiltInType.Variant => Array<Variant>(type, length, dimensions, depth),
        _ => Array<int>(BuiltInType.Int32, length, dimensions, depth),
    };

    private Variant Array<T>(BuiltInType type, int length, int[]? dimensions, int depth) =>
        Protocols.OpcUa.Variant.ArrayOf([.. Enumerable.Range(0, length).Select(_ => (T)Value(type, depth - 1))], dimensions);

    /// <summary>Every length in bits is as likely, so that small numbers and extremes come too.</summary>
    private ulong Bits(int most)
    {
        var some = random.Next(0, most + 1);
        var bits = some == 0 ? 0 : (ulong)random.NextInt64(long.MinValue, long.MaxValue) >> (64 - some);
        return random.Next(4) == 0 ? ~bits : bits;
    }

    private float Single() => random.Next(8) switch
    {
        0 => BitConverter.Int32BitsToSingle(0x7FC0_0000),
        1 => float.NegativeInfinity,
        2 => -0f,
        3 => float.Epsilon,
        _ => BitConverter.Int32BitsToSingle((int)Bits(32)) is var value && float.IsNaN(value) ? 1 : value,
    };

    private double Double() => random.Next(8) switch
    {
        0 => BitConverter.Int64BitsToDouble(0x7FF8_0000_0000_0000),
        1 => double.PositiveInfinity,
        2 => -0d,
        3 => double.Epsilon,
        _ => BitConverter.Int64BitsToDouble((long)Bits(64)) is var value && double.IsNaN(value) ? 1 : value,
    };

    private string Text(int least = 0)
    {
        var text = new StringBuilder();
        for (var i = random.Next(least, 12); i > 0; i--)
        {
            text.Append(new Rune(random.Next(5) switch
            {
                0 => random.Next(0x80, 0x800),
                1 => random.Next(0x3000, 0xD800),
                2 => random.Next(0x1_0000, 0x11_0000),
                _ => random.Next(' ', 0x7F),
            }).ToString());
        }

        return text.ToString();
    }

    private byte[] Bytes(int length)
    {
        var bytes = new byte[length];
        random.NextBytes(bytes);
        return bytes;
    }

    private Guid Guid() => new(Bytes(16));

    private DateTime Time() => Epoch.AddTicks(random.NextInt64(1, (LastDay - Epoch).Ticks));

    private NodeId Node() => Node((ushort)Bits(16), (uint)Bits(32));

    /// <summary>Beside a URI the index is 0 (OPC 10000-6, 5.2.2.10), and node-opcua writes no short forms.</summary>
    private ExpandedNodeId ExpandedNode() => random.Next(3) switch
    {
        0 => new ExpandedNodeId(Node()),
        1 => new ExpandedNodeId(Node(0, uint.MaxValue - (uint)random.Next(1000)), "urn:" + Text(1), random.Next(2) == 0 ? 0 : (uint)Bits(32)),
        _ => new ExpandedNodeId(Node((ushort)Bits(16), uint.MaxValue - (uint)random.Next(1000)), null, (uint)Bits(32)),
    };

    private NodeId Node(ushort ns, uint number)
    {
        return random.Next(4) switch
        {
            0 => new NodeId(ns, number),
            1 => new NodeId(ns, Text(1)),
            2 => new NodeId(ns, Guid()),
            _ => new NodeId(ns, Bytes(random.Next(1, 20))),
        };
    }

    private StatusCode Status()
    {
        var status = Listed[random.Next(Listed.Length)];
        return random.Next(4) == 0 ? status.WithOverflow() : status;
    }

    /// <summary>Nothing, a Range (OPC 10000-8, 5.6.2; encoding i=886) or a structure that only its maker knows (not
    /// numbered 0, which node-opcua takes for none in every namespace).</summary>
    private ExtensionObject Structure() => random.Next(3) switch
    {
        0 => default,
        1 => new ExtensionObject(new NodeId(886), [.. BitConverter.GetBytes(Double()), .. BitConverter.GetBytes(Double())]),
        _ => new ExtensionObject(new NodeId((ushort)random.Next(1, 9), 1 + (uint)random.Next()), Bytes(random.Next(1, 30))),
    };

    private DataValue DataValue(int depth)
    {
        DateTime? source = random.Next(3) == 0 ? null : Time();
        DateTime? server = random.Next(3) == 0 ? null : Time();
        return new DataValue(
            random.Next(8) == 0 ? default : Variant(depth),
            Status(),
            source,
            server,
            source is null || random.Next(2) == 0 ? (ushort)0 : (ushort)random.Next(1, 10_000),
            server is null || random.Next(2) == 0 ? (ushort)0 : (ushort)random.Next(1, 10_000));
    }

    private DiagnosticInfo Diagnostic(int depth) => new()
    {
        SymbolicId = random.Next(100),
        NamespaceUri = Maybe(),
        Locale = Maybe(),
        LocalizedText = Maybe(),
        AdditionalInfo = random.Next(2) == 0 ? null : Text(1),
        InnerStatusCode = random.Next(2) == 0 ? null : StatusCodes.BadCommunicationError,
        Inner = depth > 0 && random.Next(2) == 0 ? Diagnostic(depth - 1) : null,
    };

    private int? Maybe() => random.Next(2) == 0 ? null : random.Next(int.MaxValue);
}
