using System.Buffers.Binary;

namespace WashBridge.Protocols.Modbus;

/// <summary>
/// The header before every message on TCP (messaging on TCP/IP implementation guide V1.0b, 3.1.3):
/// transaction id, protocol id (0 is Modbus), length of what follows, unit id. All big-endian.
/// </summary>
/// <param name="Transaction">Copied by the server from request to reply.</param>
/// <param name="Length">Bytes after the length field: unit id and PDU.</param>
/// <param name="Unit">The device behind the address; 255 (or 0) for one that is addressed by its IP address alone.</param>
internal readonly record struct Mbap(ushort Transaction, ushort Length, byte Unit)
{
    /// <summary>Transaction, protocol, length and unit.</summary>
    public const int Size = 7;

    /// <summary>Bytes before those that the length field counts.</summary>
    public const int Prefix = 6;

    /// <summary>V1.1b3, 4.1: 253 bytes.</summary>
    public const int MaxPdu = 253;

    /// <summary>V1.1b3, 4.1: 260 bytes.</summary>
    public const int MaxAdu = Size + MaxPdu;

    public static void Write(Span<byte> destination, ushort transaction, byte unit, int pduLength)
    {
        BinaryPrimitives.WriteUInt16BigEndian(destination, transaction);
        BinaryPrimitives.WriteUInt16BigEndian(destination[2..], 0);
        BinaryPrimitives.WriteUInt16BigEndian(destination[4..], (ushort)(pduLength + 1));
        destination[6] = unit;
    }

    public static Mbap Read(ReadOnlySpan<byte> source) => new(
        BinaryPrimitives.ReadUInt16BigEndian(source),
        BinaryPrimitives.ReadUInt16BigEndian(source[4..]),
        source[6]);
}
