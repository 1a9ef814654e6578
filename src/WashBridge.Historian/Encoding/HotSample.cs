using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Encoding;

/// <summary>One sample inside a hot batch (FORMAT.md, "Hot batches").</summary>
internal static class HotSample
{
    private const byte QualityMask = 0x03;
    private const byte HasBounds = 0x04;
    private const byte HasText = 0x08;
    private const int FormShift = 4;
    private const int FormNone = 0;
    private const int FormDecimal = 1;
    private const int MostDecimals = 3;
    private const int FormSingle = FormDecimal + MostDecimals + 1;
    private const int FormDouble = FormSingle + 1;

    public static void Write(ByteWriter writer, in Sample sample, int signalStep, in TimeBounds read)
    {
        writer.Zigzag(signalStep);
        var form = Form(sample.Value.Number, out var scaled);
        var head = (byte)((byte)sample.Quality & QualityMask | form << FormShift);
        head |= sample.At != read ? HasBounds : (byte)0;
        head |= sample.Value.Text is not null ? HasText : (byte)0;
        writer.Byte(head);
        switch (form)
        {
            case FormNone:
                break;
            case FormSingle:
                writer.Fixed32(BitConverter.SingleToUInt32Bits((float)sample.Value.Number));
                break;
            case FormDouble:
                writer.Fixed64(BitConverter.DoubleToUInt64Bits(sample.Value.Number));
                break;
            default:
                writer.Zigzag(scaled);
                break;
        }

        if ((head & HasBounds) != 0)
        {
            writer.Zigzag(sample.At.Earliest.UnixMicroseconds - read.Earliest.UnixMicroseconds);
            writer.Zigzag(sample.At.Latest.UnixMicroseconds - sample.At.Earliest.UnixMicroseconds);
        }

        if (sample.Value.Text is { } text)
        {
            writer.Text(text);
        }
    }

    /// <summary>Reads what follows the signal's step.</summary>
    public static Sample Read(ref ByteReader reader, Signal signal, in TimeBounds read)
    {
        var head = reader.Byte();
        var form = head >> FormShift;
        var number = form switch
        {
            FormNone => double.NaN,
            FormSingle => BitConverter.UInt32BitsToSingle(reader.Fixed32()),
            FormDouble => BitConverter.UInt64BitsToDouble(reader.Fixed64()),
            < FormSingle => reader.Zigzag() / Number.Power(form - FormDecimal),
            _ => throw new DamagedException($"number form {form}"),
        };
        var at = read;
        if ((head & HasBounds) != 0)
        {
            var earliest = read.Earliest.UnixMicroseconds + reader.Zigzag();
            at = new TimeBounds(new Instant(earliest), new Instant(earliest + reader.Zigzag()));
        }

        var text = (head & HasText) != 0 ? reader.Text() : null;
        return new Sample(signal, new SignalValue(number, text), (Quality)(head & QualityMask), at);
    }

    private static int Form(double number, out long scaled)
    {
        scaled = 0;
        if (Number.Same(number, double.NaN))
        {
            return FormNone;
        }

        for (var decimals = 0; decimals <= MostDecimals; decimals++)
        {
            if (Number.TryScale(number, decimals, out scaled) && Math.Abs(scaled) < int.MaxValue)
            {
                return FormDecimal + decimals;
            }
        }

        return Number.IsSingle(number) ? FormSingle : FormDouble;
    }
}
