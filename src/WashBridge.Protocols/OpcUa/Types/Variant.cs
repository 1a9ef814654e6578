namespace WashBridge.Protocols.OpcUa;

/// <summary>
/// A value of any built-in type, or an array or matrix of one (OPC 10000-6, 5.2.2.16). Numbers, flags, times and status codes are kept
/// without boxing.
/// </summary>
public readonly struct Variant : IEquatable<Variant>
{
    private readonly object? content;
    private readonly long bits;

    private Variant(BuiltInType type, long bits) => (Type, this.bits) = (type, bits);

    private Variant(BuiltInType type, object? content) => (Type, this.content) = (type, content);

    private Variant(BuiltInType type, Array array, int[]? dimensions) =>
        (Type, IsArray, content) = (type, true, dimensions is null ? array : new Matrix(array, dimensions));

    public static Variant Null => default;

    /// <summary>The type of the value, or of the elements.</summary>
    public BuiltInType Type { get; }

    public bool IsArray { get; }

    public bool IsNull => Type == BuiltInType.Null;

    /// <summary>The elements, in row order for a matrix; null unless an array.</summary>
    public Array? Elements => content switch
    {
        Matrix matrix => matrix.Elements,
        Array array when IsArray => array,
        _ => null,
    };

    /// <summary>The lengths of a matrix; null for scalars and plain arrays.</summary>
    public IReadOnlyList<int>? Dimensions => (content as Matrix)?.Dimensions;

    /// <summary>Boxed: for display, tests and rare types.</summary>
    public object? Value => IsArray ? Elements : Type switch
    {
        BuiltInType.Boolean => bits != 0,
        BuiltInType.SByte => (sbyte)bits,
        BuiltInType.Byte => (byte)bits,
        BuiltInType.Int16 => (short)bits,
        BuiltInType.UInt16 => (ushort)bits,
        BuiltInType.Int32 => (int)bits,
        BuiltInType.UInt32 => (uint)bits,
        BuiltInType.Int64 => bits,
        BuiltInType.UInt64 => (ulong)bits,
        BuiltInType.Float => BitConverter.Int32BitsToSingle((int)bits),
        BuiltInType.Double => BitConverter.Int64BitsToDouble(bits),
        BuiltInType.DateTime => new DateTime(bits, DateTimeKind.Utc),
        BuiltInType.StatusCode => new StatusCode((uint)bits),
        _ => content,
    };

    internal long Bits => bits;

    internal object? Content => content;

    public static bool operator ==(Variant left, Variant right) => left.Equals(right);

    public static bool operator !=(Variant left, Variant right) => !left.Equals(right);

    public static implicit operator Variant(bool value) => new(BuiltInType.Boolean, value ? 1 : 0);

    public static implicit operator Variant(sbyte value) => new(BuiltInType.SByte, value);

    public static implicit operator Variant(byte value) => new(BuiltInType.Byte, value);

    public static implicit operator Variant(short value) => new(BuiltInType.Int16, value);

    public static implicit operator Variant(ushort value) => new(BuiltInType.UInt16, value);

    public static implicit operator Variant(int value) => new(BuiltInType.Int32, value);

    public static implicit operator Variant(uint value) => new(BuiltInType.UInt32, value);

    public static implicit operator Variant(long value) => new(BuiltInType.Int64, value);

    public static implicit operator Variant(ulong value) => new(BuiltInType.UInt64, (long)value);

    public static implicit operator Variant(float value) => new(BuiltInType.Float, BitConverter.SingleToInt32Bits(value));

    public static implicit operator Variant(double value) => new(BuiltInType.Double, BitConverter.DoubleToInt64Bits(value));

    public static implicit operator Variant(DateTime value) => new(BuiltInType.DateTime, value.Ticks);

    public static implicit operator Variant(StatusCode value) => new(BuiltInType.StatusCode, value.Value);

    public static implicit operator Variant(string? value) => new(BuiltInType.String, value);

    public static implicit operator Variant(Guid value) => new(BuiltInType.Guid, value);

    public static implicit operator Variant(XmlElement value) => new(BuiltInType.XmlElement, value);

    public static implicit operator Variant(NodeId value) => new(BuiltInType.NodeId, value);

    public static implicit operator Variant(ExpandedNodeId value) => new(BuiltInType.ExpandedNodeId, value);

    public static implicit operator Variant(QualifiedName value) => new(BuiltInType.QualifiedName, value);

    public static implicit operator Variant(LocalizedText value) => new(BuiltInType.LocalizedText, value);

    public static implicit operator Variant(ExtensionObject value) => new(BuiltInType.ExtensionObject, value);

    /// <summary>A byte string, not an array of bytes.</summary>
    public static Variant ByteString(byte[]? value) => new(BuiltInType.ByteString, value);

    /// <summary>A variant may hold a data value (OPC 10000-6, table 17).</summary>
    public static Variant Of(DataValue value) => new(BuiltInType.DataValue, value);

    public static Variant Of(DiagnosticInfo? value) => new(BuiltInType.DiagnosticInfo, value);

    /// <summary>An array; with <paramref name="dimensions"/>, whose product is the number of elements, a matrix in row order.</summary>
    /// <exception cref="ArgumentException">No built-in type has such elements, or the dimensions do not fit.</exception>
    public static Variant ArrayOf<T>(T[] elements, int[]? dimensions = null)
    {
        if (dimensions is not null && dimensions.Aggregate(1L, (product, length) => product * length) != elements.Length)
        {
            throw new ArgumentException($"{elements.Length} elements do not fill {string.Join(" x ", dimensions)}", nameof(dimensions));
        }

        return new Variant(ElementTypes<T>.Type, elements, dimensions);
    }

    /// <summary>The value as a number: every numeric type and Boolean (0 or 1). 64 bit numbers beyond 2^53 are rounded.</summary>
    public bool TryGetNumber(out double number)
    {
        number = Type switch
        {
            _ when IsArray => double.NaN,
            BuiltInType.Boolean or (>= BuiltInType.SByte and <= BuiltInType.Int64) => bits,
            BuiltInType.UInt64 => (ulong)bits,
            BuiltInType.Float => BitConverter.Int32BitsToSingle((int)bits),
            BuiltInType.Double => BitConverter.Int64BitsToDouble(bits),
            _ => double.NaN,
        };
        return !IsArray && Type is >= BuiltInType.Boolean and <= BuiltInType.Double;
    }

    /// <summary>The value if it is a <typeparamref name="T"/> or an array <c>T[]</c>; else the default.</summary>
    public T? As<T>() => Value is T value ? value : default;

    public bool Equals(Variant other)
    {
        if (Type != other.Type || IsArray != other.IsArray || bits != other.bits)
        {
            return false;
        }

        if (content is byte[] mine && other.content is byte[] theirs)
        {
            return mine.AsSpan().SequenceEqual(theirs);
        }

        return IsArray
            ? (Dimensions ?? []).SequenceEqual(other.Dimensions ?? []) && SameElements(Elements!, other.Elements!)
            : Equals(content, other.content);
    }

    public override bool Equals(object? obj) => obj is Variant other && Equals(other);

    public override int GetHashCode() => HashCode.Combine(Type, IsArray, bits, Elements?.Length ?? (content is byte[] bytes ? bytes.Length : content?.GetHashCode()));

    public override string ToString() => IsArray ? $"{Type}[{string.Join(" x ", Dimensions ?? [Elements!.Length])}]" : Value?.ToString() ?? "null";

    internal static Variant FromBits(BuiltInType type, long bits) => new(type, bits);

    internal static Variant FromContent(BuiltInType type, object? content) => new(type, content);

    internal static Variant FromArray(BuiltInType type, Array elements, int[]? dimensions) => new(type, elements, dimensions);

    private static bool SameElements(Array mine, Array theirs)
    {
        if (mine.Length != theirs.Length || mine.GetType() != theirs.GetType())
        {
            return false;
        }

        for (var i = 0; i < mine.Length; i++)
        {
            var (a, b) = (mine.GetValue(i), theirs.GetValue(i));
            if (a is byte[] left && b is byte[] right ? !left.AsSpan().SequenceEqual(right) : !Equals(a, b))
            {
                return false;
            }
        }

        return true;
    }

    private sealed record Matrix(Array Elements, int[] Dimensions);

    private static class ElementTypes<T>
    {
        public static readonly BuiltInType Type = default(T) switch
        {
            bool => BuiltInType.Boolean,
            sbyte => BuiltInType.SByte,
            byte => BuiltInType.Byte,
            short => BuiltInType.Int16,
            ushort => BuiltInType.UInt16,
            int => BuiltInType.Int32,
            uint => BuiltInType.UInt32,
            long => BuiltInType.Int64,
            ulong => BuiltInType.UInt64,
            float => BuiltInType.Float,
            double => BuiltInType.Double,
            DateTime => BuiltInType.DateTime,
            Guid => BuiltInType.Guid,
            XmlElement => BuiltInType.XmlElement,
            NodeId => BuiltInType.NodeId,
            ExpandedNodeId => BuiltInType.ExpandedNodeId,
            StatusCode => BuiltInType.StatusCode,
            QualifiedName => BuiltInType.QualifiedName,
            LocalizedText => BuiltInType.LocalizedText,
            ExtensionObject => BuiltInType.ExtensionObject,
            DataValue => BuiltInType.DataValue,
            Variant => BuiltInType.Variant,
            _ when typeof(T) == typeof(string) => BuiltInType.String,
            _ when typeof(T) == typeof(byte[]) => BuiltInType.ByteString,
            _ when typeof(T) == typeof(DiagnosticInfo) => BuiltInType.DiagnosticInfo,
            _ => throw new ArgumentException($"no built-in type has elements of {typeof(T)}"),
        };
    }
}
