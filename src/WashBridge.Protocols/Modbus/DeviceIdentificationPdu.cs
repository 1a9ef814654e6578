using System.Text;

namespace WashBridge.Protocols.Modbus;

/// <summary>How much to ask for (V1.1b3, 6.21): each level includes the ones before.</summary>
public enum DeviceIdentificationLevel : byte
{
    /// <summary>Objects 0 to 2: vendor, product code, revision.</summary>
    Basic = 1,

    /// <summary>Objects up to 0x7F: also address of the vendor, names of product, model and application.</summary>
    Regular = 2,

    /// <summary>Objects up to 0xFF: whatever the vendor adds.</summary>
    Extended = 3,
}

/// <summary>What a device says of itself.</summary>
/// <param name="ConformityLevel">1 to 3 for stream access only; 0x81 to 0x83 if single objects can be read too.</param>
/// <param name="Objects">By object id: 0 vendor, 1 product code, 2 revision, ...</param>
public sealed record ModbusDeviceIdentification(byte ConformityLevel, IReadOnlyDictionary<byte, string> Objects);

/// <summary>Function 43 (0x2B) with MEI type 14 (0x0E), read device identification (V1.1b3, 6.21).</summary>
internal static class DeviceIdentificationPdu
{
    public const byte Function = 0x2B;
    public const byte MeiType = 0x0E;

    /// <summary>Function, MEI type, kind of access, object.</summary>
    public const int RequestSize = 4;

    /// <summary>Access to one object, beside the three levels.</summary>
    public const byte SingleObject = 4;

    /// <summary>Function, MEI type, kind, conformity, more follows, next object, number of objects.</summary>
    public const int ReplyHeader = 7;

    /// <summary>What fits beside the header, an id and a length.</summary>
    public const int MaxObject = Mbap.MaxPdu - ReplyHeader - 2;

    private const byte MoreFollows = 0xFF;

    public static int WriteRequest(Span<byte> pdu, DeviceIdentificationLevel level, byte firstObject)
    {
        pdu[0] = Function;
        pdu[1] = MeiType;
        pdu[2] = (byte)level;
        pdu[3] = firstObject;
        return RequestSize;
    }

    /// <summary>As many of the objects from <paramref name="first"/> on as fit, and where to go on.</summary>
    /// <param name="pdu">At least <see cref="Mbap.MaxPdu"/> bytes.</param>
    /// <param name="access">As asked for.</param>
    /// <param name="objects">By id; what the kind of access includes.</param>
    /// <returns>Length of the PDU.</returns>
    public static int WriteReply(Span<byte> pdu, byte access, byte conformity, SortedList<byte, byte[]> objects, int first)
    {
        pdu[0] = Function;
        pdu[1] = MeiType;
        pdu[2] = access;
        pdu[3] = conformity;
        pdu[4] = 0;
        pdu[5] = 0;
        var length = ReplyHeader;
        var last = access == SingleObject ? first + 1 : objects.Count;
        var i = first;
        for (; i < last; i++)
        {
            var value = objects.Values[i];
            if (length + 2 + value.Length > Mbap.MaxPdu)
            {
                pdu[4] = MoreFollows;
                pdu[5] = objects.Keys[i];
                break;
            }

            pdu[length] = objects.Keys[i];
            pdu[length + 1] = (byte)value.Length;
            value.CopyTo(pdu[(length + 2)..]);
            length += 2 + value.Length;
        }

        pdu[6] = (byte)(i - first);
        return length;
    }

    /// <summary>Texts are ASCII (V1.1b3, 6.21), and longer ones than a message holds are cut.</summary>
    public static SortedList<byte, byte[]> Encode(IReadOnlyDictionary<byte, string> objects)
    {
        var encoded = new SortedList<byte, byte[]>();
        foreach (var (id, text) in objects)
        {
            encoded.Add(id, Encoding.ASCII.GetBytes(text.Length > MaxObject ? text[..MaxObject] : text));
        }

        return encoded;
    }

    public static bool Includes(byte access, byte id) => access switch
    {
        (byte)DeviceIdentificationLevel.Basic => id <= 0x02,
        (byte)DeviceIdentificationLevel.Regular => id <= 0x7F,
        _ => true,
    };
}

/// <summary>Puts an identification together from as many replies as it takes.</summary>
internal sealed class DeviceIdentificationReader
{
    private readonly SortedDictionary<byte, string> objects = [];
    private byte conformity;

    public bool MoreFollows { get; private set; }

    public byte NextObject { get; private set; }

    /// <returns>Null, or what is wrong with the reply.</returns>
    public string? Add(ReadOnlySpan<byte> pdu)
    {
        if (pdu.Length < DeviceIdentificationPdu.ReplyHeader || pdu[1] != DeviceIdentificationPdu.MeiType)
        {
            return $"{pdu.Length} bytes that are no identification";
        }

        conformity = pdu[3];
        var rest = pdu[DeviceIdentificationPdu.ReplyHeader..];
        for (var count = pdu[6]; count > 0; count--)
        {
            if (rest.Length < 2 || rest.Length < 2 + rest[1])
            {
                return "an object is longer than the message";
            }

            objects[rest[0]] = Encoding.ASCII.GetString(rest.Slice(2, rest[1]));
            rest = rest[(2 + rest[1])..];
        }

        if (rest.Length > 0)
        {
            return $"{rest.Length} bytes after the last object";
        }

        // The next object must lie further on: a device that points back would keep us asking for ever.
        MoreFollows = pdu[4] != 0;
        if (MoreFollows && pdu[5] <= NextObject)
        {
            return $"more follows from object {pdu[5]}, which is not beyond object {NextObject}";
        }

        NextObject = pdu[5];
        return null;
    }

    public ModbusDeviceIdentification ToIdentification() => new(conformity, objects);
}
