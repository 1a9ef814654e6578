using System.Buffers;
using System.Globalization;
using WashBridge.Core.Signals;

namespace WashBridge.Forwarding;

/// <summary>
/// Samples as points of <c>wash_sample</c>. Measurement and tags of a signal never change, so their bytes are made once.
/// The field's name tells the type: one name for two types would be a type conflict, which the server answers by refusing points.
/// </summary>
internal sealed class SamplePoints(string site)
{
    /// <summary>More signals than any site has; beyond it the bytes are made afresh rather than kept without end.</summary>
    private const int MaxPrefixes = 100_000;

    private readonly Dictionary<Signal, byte[]> _prefixes = [];
    private readonly LinePoint _head = new();
    private readonly ArrayBufferWriter<byte> _scratch = new();

    public void Append(long sequence, Frame frame, LineBatch batch)
    {
        var origin = new LineOrigin(sequence, null);
        for (var i = 0; i < frame.Samples.Count; i++)
        {
            var sample = frame.Samples[i];
            try
            {
                var time = PointTime.Of(sample.At);
                batch.Output.Write(Prefix(sample.Signal));
                WriteFields(sample, batch);
                LineProtocol.WriteByte(batch.Output, (byte)' ');
                LineProtocol.WriteTimestamp(batch.Output, time);
                LineProtocol.WriteByte(batch.Output, (byte)'\n');
                batch.EndLine(origin);
            }
            catch (LineProtocolException e)
            {
                batch.AddInexpressible(origin, $"{sample.Signal}: {e.Message}");
            }
        }
    }

    /// <summary>In ordinal order of the keys: flag, quality, text, value, whole, width_us.</summary>
    private static void WriteFields(Sample sample, LineBatch batch)
    {
        var output = batch.Output;
        var (number, text) = sample.Value;
        var separator = ""u8;
        if (sample.Signal.Type == SignalType.Flag && double.IsFinite(number))
        {
            output.Write(sample.Value.IsSet ? "flag=1i"u8 : "flag=0i"u8);
            separator = ","u8;
        }

        output.Write(separator);
        output.Write("quality="u8);
        LineProtocol.WriteInteger(output, Words.Number(sample.Quality));
        switch (sample.Signal.Type)
        {
            case SignalType.Text when text is not null:
                output.Write(",text="u8);
                LineProtocol.WriteText(output, text);
                break;
            case SignalType.Quantity when double.IsFinite(number):
                output.Write(",value="u8);
                LineProtocol.WriteFloat(output, number);
                break;
            // A double holds whole numbers exactly up to 2^53; beyond 2^63 there is no integer to write.
            case SignalType.Integer when Math.Abs(number) < 9.2e18:
                output.Write(",whole="u8);
                LineProtocol.WriteInteger(output, (long)number);
                break;
            case SignalType.Flag when double.IsFinite(number):
                break;
            default:
                batch.OmittedFields += sample.Quality == Quality.Bad ? 0 : 1;
                break;
        }

        output.Write(",width_us="u8);
        LineProtocol.WriteInteger(output, sample.At.Latest.UnixMicroseconds - sample.At.Earliest.UnixMicroseconds);
    }

    /// <exception cref="LineProtocolException">A tag cannot be expressed.</exception>
    private byte[] Prefix(Signal signal)
    {
        if (_prefixes.TryGetValue(signal, out var prefix))
        {
            return prefix;
        }

        _scratch.ResetWrittenCount();
        _head.Start("wash_sample").Tag("site", site).Tag("washer", signal.Washer).Tag("signal", signal.Name).Tag("unit", signal.Unit)
            .Tag("station", signal.Station == 0 ? null : signal.Station.ToString(CultureInfo.InvariantCulture));
        _head.WriteHeadTo(_scratch);
        LineProtocol.WriteByte(_scratch, (byte)' ');
        prefix = _scratch.WrittenSpan.ToArray();
        if (_prefixes.Count < MaxPrefixes)
        {
            _prefixes.Add(signal, prefix);
        }

        return prefix;
    }
}
