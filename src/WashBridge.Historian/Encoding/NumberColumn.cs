using System.Runtime.InteropServices;

namespace WashBridge.Historian.Encoding;

/// <summary>
/// The values of one signal within a segment (FORMAT.md, "Numbers"). What controllers send are mostly short decimals of one resolution: kept as
/// differences of whole numbers they take about one byte. Whatever is not, is kept bit by bit.
/// </summary>
internal static class NumberColumn
{
    private enum Form : byte
    {
        /// <summary>All the same.</summary>
        Same = 0,

        /// <summary>k / 10^d.</summary>
        Decimal = 1,

        /// <summary>k * 10^-d.</summary>
        Product = 2,

        /// <summary>The 32-bit float nearest to k / 10^d.</summary>
        Single = 3,

        /// <summary>Places in a sorted list of the different values.</summary>
        Ranks = 4,

        /// <summary>Bit by bit, byte planes of the difference to the value before.</summary>
        Raw = 5,
    }

    private delegate bool Scaling(double value, int decimals, out long scaled);

    public static void Write(ByteWriter writer, ReadOnlySpan<double> numbers)
    {
        if (numbers.Length == 0)
        {
            return;
        }

        if (AllSame(numbers))
        {
            writer.Byte((byte)Form.Same);
            writer.Fixed64(BitConverter.DoubleToUInt64Bits(numbers[0]));
            return;
        }

        if (!TryWriteScaled(writer, numbers, Form.Decimal, Number.TryScale) &&
            !TryWriteScaled(writer, numbers, Form.Product, Number.TryScaleByProduct) &&
            !TryWriteScaled(writer, numbers, Form.Single, Number.TryScaleAsSingle) &&
            !TryWriteRanks(writer, numbers))
        {
            WriteRaw(writer, numbers);
        }
    }

    public static void Read(ref ByteReader reader, Span<double> numbers)
    {
        if (numbers.Length == 0)
        {
            return;
        }

        var form = (Form)reader.Byte();
        switch (form)
        {
            case Form.Same:
                numbers.Fill(BitConverter.UInt64BitsToDouble(reader.Fixed64()));
                break;
            case Form.Decimal or Form.Product or Form.Single:
                ReadScaled(ref reader, numbers, form);
                break;
            case Form.Ranks:
                ReadRanks(ref reader, numbers);
                break;
            case Form.Raw:
                ReadRaw(ref reader, numbers);
                break;
            default:
                throw new DamagedException($"number form {form}");
        }
    }

    private static bool AllSame(ReadOnlySpan<double> numbers) => MemoryMarshal.Cast<double, long>(numbers).IndexOfAnyExcept(BitConverter.DoubleToInt64Bits(numbers[0])) < 0;

    private static bool TryWriteScaled(ByteWriter writer, ReadOnlySpan<double> numbers, Form form, Scaling scale)
    {
        // A few bad samples without a value must not cost the whole column its short form.
        var mostExceptions = numbers.Length / 16 + 1;
        for (var decimals = 0; decimals <= Number.MostDecimals; decimals++)
        {
            if (Exceptions(numbers, decimals, scale, mostExceptions) is { } exceptions)
            {
                WriteScaled(writer, numbers, form, decimals, scale, exceptions);
                return true;
            }
        }

        return false;
    }

    /// <summary>Where the numbers cannot be scaled so; null if in too many places.</summary>
    private static List<int>? Exceptions(ReadOnlySpan<double> numbers, int decimals, Scaling scale, int most)
    {
        List<int> exceptions = [];
        for (var i = 0; i < numbers.Length; i++)
        {
            if (!scale(numbers[i], decimals, out _))
            {
                exceptions.Add(i);
                if (exceptions.Count > most)
                {
                    return null;
                }
            }
        }

        // A column of exceptions alone says nothing about the resolution.
        return exceptions.Count < numbers.Length ? exceptions : null;
    }

    private static void WriteScaled(ByteWriter writer, ReadOnlySpan<double> numbers, Form form, int decimals, Scaling scale, List<int> exceptions)
    {
        writer.Byte((byte)form);
        writer.Byte((byte)decimals);
        writer.Varint(exceptions.Count);
        var before = 0;
        foreach (var position in exceptions)
        {
            writer.Varint(position - before);
            before = position;
            writer.Fixed64(BitConverter.DoubleToUInt64Bits(numbers[position]));
        }

        var next = 0;
        long previous = 0;
        for (var i = 0; i < numbers.Length; i++)
        {
            if (next < exceptions.Count && exceptions[next] == i)
            {
                next++;
                writer.Zigzag(0);
                continue;
            }

            scale(numbers[i], decimals, out var scaled);
            writer.Zigzag(scaled - previous);
            previous = scaled;
        }
    }

    private static void ReadScaled(ref ByteReader reader, Span<double> numbers, Form form)
    {
        var decimals = reader.Count(Number.MostDecimals);
        var exceptions = new (int Position, double Number)[reader.Count(numbers.Length)];
        var position = 0;
        for (var i = 0; i < exceptions.Length; i++)
        {
            position += reader.Count(numbers.Length - 1 - position);
            exceptions[i] = (position, BitConverter.UInt64BitsToDouble(reader.Fixed64()));
        }

        var power = Number.Power(decimals);
        var product = 1 / power;
        long scaled = 0;
        switch (form)
        {
            case Form.Decimal:
                for (var i = 0; i < numbers.Length; i++)
                {
                    scaled += reader.Zigzag();
                    numbers[i] = scaled / power;
                }

                break;
            case Form.Product:
                for (var i = 0; i < numbers.Length; i++)
                {
                    scaled += reader.Zigzag();
                    numbers[i] = scaled * product;
                }

                break;
            default:
                for (var i = 0; i < numbers.Length; i++)
                {
                    scaled += reader.Zigzag();
                    numbers[i] = (float)(scaled / power);
                }

                break;
        }

        foreach (var (at, number) in exceptions)
        {
            numbers[at] = number;
        }
    }

    private static bool TryWriteRanks(ByteWriter writer, ReadOnlySpan<double> numbers)
    {
        var ranks = new Dictionary<long, int>();
        foreach (var number in numbers)
        {
            ranks.TryAdd(BitConverter.DoubleToInt64Bits(number), 0);
            if (ranks.Count > numbers.Length / 4 + 1)
            {
                return false;
            }
        }

        var sorted = ranks.Keys.ToArray();
        Array.Sort(sorted, static (a, b) => BitConverter.Int64BitsToDouble(a).CompareTo(BitConverter.Int64BitsToDouble(b)) is not 0 and var order ? order : a.CompareTo(b));
        writer.Byte((byte)Form.Ranks);
        writer.Varint(sorted.Length);
        for (var i = 0; i < sorted.Length; i++)
        {
            ranks[sorted[i]] = i;
            writer.Fixed64((ulong)sorted[i]);
        }

        var previous = 0;
        foreach (var number in numbers)
        {
            var rank = ranks[BitConverter.DoubleToInt64Bits(number)];
            writer.Zigzag(rank - previous);
            previous = rank;
        }

        return true;
    }

    private static void ReadRanks(ref ByteReader reader, Span<double> numbers)
    {
        var sorted = new double[reader.Count(numbers.Length)];
        for (var i = 0; i < sorted.Length; i++)
        {
            sorted[i] = BitConverter.UInt64BitsToDouble(reader.Fixed64());
        }

        long rank = 0;
        for (var i = 0; i < numbers.Length; i++)
        {
            rank += reader.Zigzag();
            numbers[i] = (ulong)rank < (ulong)sorted.Length ? sorted[rank] : throw new DamagedException($"a rank of {rank} among {sorted.Length}");
        }
    }

    private static void WriteRaw(ByteWriter writer, ReadOnlySpan<double> numbers)
    {
        writer.Byte((byte)Form.Raw);
        var planes = writer.Take(8 * numbers.Length);
        ulong previous = 0;
        for (var i = 0; i < numbers.Length; i++)
        {
            var bits = BitConverter.DoubleToUInt64Bits(numbers[i]);
            var difference = bits ^ previous;
            previous = bits;
            for (var plane = 0; plane < 8; plane++)
            {
                planes[plane * numbers.Length + i] = (byte)(difference >> (8 * plane));
            }
        }
    }

    private static void ReadRaw(ref ByteReader reader, Span<double> numbers)
    {
        var planes = reader.Raw(8 * numbers.Length);
        ulong bits = 0;
        for (var i = 0; i < numbers.Length; i++)
        {
            for (var plane = 0; plane < 8; plane++)
            {
                bits ^= (ulong)planes[plane * numbers.Length + i] << (8 * plane);
            }

            numbers[i] = BitConverter.UInt64BitsToDouble(bits);
        }
    }
}
