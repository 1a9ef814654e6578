using System.Buffers.Binary;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>Spoils bytes: flipped bits, edge values where a length may be, pieces cut, doubled and taken from another message.</summary>
internal sealed class Mutator(Random random)
{
    private static readonly int[] Edges =
        [-1, 0, 1, 2, 127, 128, 255, 256, 65_535, 65_536, 1_000_000, 1_000_001, 16_777_216, int.MaxValue - 1, int.MaxValue, int.MinValue, int.MinValue + 1, -2];

    /// <summary>Nested variants and diagnostics, empty data values, null strings, long arrays: what a decoder has to bound.</summary>
    private static readonly byte[][] Pieces =
    [
        [0x98, 1, 0, 0, 0], [0x98, 0xFF, 0xFF, 0xFF, 0x7F], [0x17, 0x01], [0x17, 0x00], [0x40], [0x59, 0x40], [0x97, 8, 0, 0, 0, 1, 1, 1, 1],
        [0xFF, 0xFF, 0xFF, 0xFF], [0x00, 0x00, 0x00, 0x80], [0xCB, 0, 0, 0, 0, 2, 0, 0, 0, 0, 0, 0, 0, 0xFF, 0xFF, 0xFF, 0xFF], [0x16, 1, 0, 0x2A, 3, 1], [0x3F], [0x0F, 0x10],
    ];

    /// <summary>Up to four changes, or none in one of fifty so that whole messages come too.</summary>
    public byte[] Mutate(byte[] message, byte[] other)
    {
        var bytes = message;
        for (var changes = random.Next(50) == 0 ? 0 : random.Next(1, 5); changes > 0; changes--)
        {
            bytes = Change(bytes, other);
        }

        return bytes;
    }

    private byte[] Change(byte[] bytes, byte[] other)
    {
        var at = random.Next(bytes.Length + 1);
        var rest = bytes.Length - at;
        switch (random.Next(9))
        {
            case 0 when rest > 0:
                return With(bytes, b => b[at] ^= (byte)(1 << random.Next(8)));
            case 1 when rest > 0:
                return With(bytes, b => b[at] = (byte)random.Next(256));
            case 2 when rest >= 4:
                return With(bytes, b => BinaryPrimitives.WriteInt32LittleEndian(b.AsSpan(at), Edge(rest - 4)));
            case 3:
                return bytes[..at];
            case 4:
                return Splice(bytes, at, 0, bytes.AsSpan(at, random.Next(rest + 1)));
            case 5:
                return Splice(bytes, at, random.Next(Math.Min(rest, 16) + 1), []);
            case 6 when other.Length > 0:
                var from = random.Next(other.Length);
                return Splice(bytes, at, random.Next(2) == 0 ? 0 : rest, other.AsSpan(from, random.Next(other.Length - from + 1)));
            case 7:
                return Splice(bytes, at, 0, Repeat(Pieces[random.Next(Pieces.Length)], random.Next(3) == 0 ? random.Next(1, 300) : 1));
            default:
                var noise = new byte[random.Next(1, 16)];
                random.NextBytes(noise);
                return Splice(bytes, at, Math.Min(rest, noise.Length), noise);
        }
    }

    private int Edge(int rest) => random.Next(4) == 0 ? rest + random.Next(-2, 3) : Edges[random.Next(Edges.Length)];

    private static byte[] With(byte[] bytes, Action<byte[]> change)
    {
        var copy = (byte[])bytes.Clone();
        change(copy);
        return copy;
    }

    private static byte[] Splice(byte[] bytes, int at, int drop, ReadOnlySpan<byte> piece) => [.. bytes.AsSpan(0, at), .. piece, .. bytes.AsSpan(at + drop)];

    private static byte[] Repeat(byte[] piece, int times)
    {
        var bytes = new byte[piece.Length * times];
        for (var i = 0; i < times; i++)
        {
            piece.CopyTo(bytes, i * piece.Length);
        }

        return bytes;
    }
}
