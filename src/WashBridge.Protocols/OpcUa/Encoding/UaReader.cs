using System.Buffers.Binary;
using System.Runtime.CompilerServices;
using System.Text;

namespace WashBridge.Protocols.OpcUa.Encoding;

/// <summary>Reads one element of an array.</summary>
public delegate T ReadElement<out T>(ref UaReader reader);

/// <summary>Reads the body of an extension object; null where the encoding is not known.</summary>
public delegate T? ReadBody<out T>(NodeId encodingId, ref UaReader body)
    where T : class;

/// <summary>
/// Decodes the binary encoding (OPC 10000-6, 5.2) from one complete message. Every length is checked against what is left of the message
/// and against the limits before anything is allocated.
/// </summary>
public ref partial struct UaReader
{
    private static readonly UTF8Encoding Utf8 = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: false);

    private readonly ReadOnlySpan<byte> bytes;
    private readonly DecodingLimits limits;
    private int position;
    private int depth;
    private int budget;

    public UaReader(ReadOnlySpan<byte> bytes, DecodingLimits limits)
    {
        this.bytes = bytes;
        this.limits = limits;
        budget = limits.MaxDecodedBytes;
    }

    public readonly int Position => position;

    public readonly int Remaining => bytes.Length - position;

    public bool ReadBoolean() => ReadByte() != 0;

    public sbyte ReadSByte() => (sbyte)ReadByte();

    public byte ReadByte() => Take(1)[0];

    public short ReadInt16() => BinaryPrimitives.ReadInt16LittleEndian(Take(2));

    public ushort ReadUInt16() => BinaryPrimitives.ReadUInt16LittleEndian(Take(2));

    public int ReadInt32() => BinaryPrimitives.ReadInt32LittleEndian(Take(4));

    public uint ReadUInt32() => BinaryPrimitives.ReadUInt32LittleEndian(Take(4));

    public long ReadInt64() => BinaryPrimitives.ReadInt64LittleEndian(Take(8));

    public ulong ReadUInt64() => BinaryPrimitives.ReadUInt64LittleEndian(Take(8));

    public float ReadSingle() => BinaryPrimitives.ReadSingleLittleEndian(Take(4));

    public double ReadDouble() => BinaryPrimitives.ReadDoubleLittleEndian(Take(8));

    public DateTime ReadDateTime() => UaTime.Decode(ReadInt64());

    public StatusCode ReadStatusCode() => new(ReadUInt32());

    public Guid ReadGuid() => new(Take(16));

    public string? ReadString()
    {
        var length = ReadLength();
        if (length < 0)
        {
            return null;
        }

        Charge((long)length * sizeof(char));
        return Utf8.GetString(Take(length));
    }

    public byte[]? ReadByteString()
    {
        var length = ReadLength();
        if (length < 0)
        {
            return null;
        }

        Charge(length);
        return Take(length).ToArray();
    }

    /// <summary>The bytes themselves, valid as long as the message is. Null and empty look alike.</summary>
    public ReadOnlySpan<byte> ReadByteStringInPlace()
    {
        var length = ReadLength();
        return length < 0 ? [] : Take(length);
    }

    public XmlElement ReadXmlElement() => new(ReadString());

    public QualifiedName ReadQualifiedName() => new(ReadUInt16(), ReadString());

    public LocalizedText ReadLocalizedText()
    {
        var mask = ReadByte();
        var locale = (mask & 0x01) != 0 ? ReadString() : null;
        return new LocalizedText(locale, (mask & 0x02) != 0 ? ReadString() : null);
    }

    /// <summary>A null array becomes an empty one: no service tells them apart.</summary>
    public T[] ReadArray<T>(ReadElement<T> read)
    {
        var elements = Allocate<T>(ReadInt32());
        for (var i = 0; i < elements.Length; i++)
        {
            elements[i] = read(ref this);
        }

        return elements;
    }

    /// <inheritdoc cref="ReadArray{T}(ReadElement{T})"/>
    public T[] ReadArray<T>()
        where T : IStructure<T>
    {
        var elements = Allocate<T>(ReadInt32());
        for (var i = 0; i < elements.Length; i++)
        {
            elements[i] = T.Read(ref this);
        }

        return elements;
    }

    /// <exception cref="UaException">BadDecodingError: bytes are left.</exception>
    public readonly void ExpectEnd()
    {
        if (Remaining != 0)
        {
            throw Malformed($"{Remaining} bytes are left behind the last field");
        }
    }

    internal readonly UaException Malformed(string what) => new(StatusCodes.BadDecodingError, $"{what}, at byte {position} of {bytes.Length}");

    private readonly UaException TooMuch(string what) => new(StatusCodes.BadEncodingLimitsExceeded, $"{what}, at byte {position} of {bytes.Length}");

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private ReadOnlySpan<byte> Take(int length)
    {
        if ((uint)length > (uint)(bytes.Length - position))
        {
            throw Malformed($"the message ends within a field: {length} bytes wanted, {Remaining} left");
        }

        var taken = bytes.Slice(position, length);
        position += length;
        return taken;
    }

    private int ReadLength()
    {
        var length = ReadInt32();
        if (length > limits.MaxStringLength)
        {
            throw TooMuch($"a string of {length} bytes; at most {limits.MaxStringLength} are accepted");
        }

        return length;
    }

    /// <summary>An element takes a byte of the message at least, so no array can be longer than what is left.</summary>
    private T[] Allocate<T>(int length)
    {
        if (length <= 0)
        {
            return [];
        }

        if (length > limits.MaxArrayLength)
        {
            throw TooMuch($"an array of {length} elements; at most {limits.MaxArrayLength} are accepted");
        }

        if (length > Remaining)
        {
            throw Malformed($"an array of {length} elements in the {Remaining} bytes left");
        }

        Charge((long)length * Unsafe.SizeOf<T>());
        return new T[length];
    }

    private void Charge(long size)
    {
        if (size > budget)
        {
            throw TooMuch($"the decoded message would take more than {limits.MaxDecodedBytes} bytes of memory");
        }

        budget -= (int)size;
    }

    private void Enter()
    {
        if (++depth > limits.MaxDepth)
        {
            throw TooMuch($"values nested more than {limits.MaxDepth} deep");
        }
    }

    private void Leave() => depth--;
}
