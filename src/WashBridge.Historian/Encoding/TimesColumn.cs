using System.Buffers;

namespace WashBridge.Historian.Encoding;

/// <summary>When the frames of a group were read (FORMAT.md, "Times"): polls are regular, so that only the deviations from their period are kept.</summary>
internal static class TimesColumn
{
    public static void Write(ByteWriter writer, ReadOnlySpan<long> earliest, ReadOnlySpan<long> latest)
    {
        var count = earliest.Length;
        var rented = ArrayPool<long>.Shared.Rent(count);
        var scratch = rented.AsSpan(0, count);
        for (var i = 1; i < count; i++)
        {
            scratch[i] = unchecked(earliest[i] - earliest[i - 1]);
        }

        scratch[0] = count > 1 ? scratch[1] : 0;
        var period = Median(scratch);
        for (var i = 0; i < count; i++)
        {
            scratch[i] = unchecked(latest[i] - earliest[i]);
        }

        var width = Median(scratch);
        ArrayPool<long>.Shared.Return(rented);

        writer.Zigzag(earliest[0]);
        writer.Zigzag(period);
        writer.Zigzag(width);
        for (var i = 1; i < count; i++)
        {
            writer.Zigzag(unchecked(earliest[i] - earliest[i - 1] - period));
        }

        for (var i = 0; i < count; i++)
        {
            writer.Zigzag(unchecked(latest[i] - earliest[i] - width));
        }
    }

    public static void Read(ref ByteReader reader, Span<long> earliest, Span<long> latest)
    {
        earliest[0] = reader.Zigzag();
        var period = reader.Zigzag();
        var width = reader.Zigzag();
        for (var i = 1; i < earliest.Length; i++)
        {
            earliest[i] = unchecked(earliest[i - 1] + period + reader.Zigzag());
        }

        for (var i = 0; i < latest.Length; i++)
        {
            latest[i] = unchecked(earliest[i] + width + reader.Zigzag());
        }
    }

    private static long Median(Span<long> values)
    {
        values.Sort();
        return values[values.Length / 2];
    }
}
