namespace WashBridge.Protocols.Modbus;

/// <summary>Why a point has no value, although the connection is fine.</summary>
/// <param name="Message">For people.</param>
/// <param name="Code">What the device answered; null if it answered with a value that is none.</param>
/// <param name="Issue">What is wrong with the value.</param>
public sealed record PointError(string Message, ModbusExceptionCode? Code, DecodeIssue Issue)
{
    private static readonly PointError?[] ByCode = new PointError?[256];

    private static readonly PointError NotBcd = new("not BCD: a digit is above 9", null, DecodeIssue.NotBcd);

    private static readonly PointError NotAscii = new("not printable ASCII", null, DecodeIssue.NotAscii);

    internal static PointError Of(ModbusExceptionCode code) =>
        ByCode[(byte)code] ??= new PointError(ModbusDeviceException.Describe(code), code, DecodeIssue.None);

    internal static PointError? Of(DecodeIssue issue) => issue switch
    {
        DecodeIssue.NotBcd => NotBcd,
        DecodeIssue.NotAscii => NotAscii,
        _ => null,
    };
}

/// <summary>What a scan read for one point.</summary>
public struct PointReading
{
    /// <summary>Its registers as they came; for a bit one of 0 or 1.</summary>
    public ReadOnlyMemory<ushort> Raw { get; internal init; }

    /// <summary>The decoded number; NaN for text and with an <see cref="Error"/>.</summary>
    public double Value { get; internal set; }

    /// <summary>The decoded text; null for numbers and with an <see cref="Error"/>.</summary>
    public string? Text { get; internal set; }

    /// <summary>A 64-bit integer beyond 2^53: <see cref="Value"/> is the nearest double.</summary>
    public bool IsInexact { get; internal set; }

    /// <summary>Null if there is a value.</summary>
    public PointError? Error { get; internal set; }

    /// <summary>Which of <see cref="ScanResult.Timings"/> read it; -1 if it was not asked for, because the device refused it lately.</summary>
    public int TimingIndex { get; internal set; }

    /// <summary>Raw registers are those of a value that was decoded: equal ones need no decoding.</summary>
    internal bool IsDecoded { get; set; }
}

/// <summary>The outcome of a scan. Made once (<see cref="ModbusScanner.CreateResult"/>) and filled again by each scan.</summary>
public sealed class ScanResult
{
    private readonly PointReading[] readings;
    private readonly ushort[] raw;
    private readonly int[] offsets;
    private ModbusTiming[] timings = new ModbusTiming[4];

    internal ScanResult(IReadOnlyList<int> widths)
    {
        raw = new ushort[widths.Sum()];
        readings = new PointReading[widths.Count];
        offsets = new int[widths.Count];
        for (int i = 0, offset = 0; i < readings.Length; offset += widths[i], i++)
        {
            offsets[i] = offset;
            readings[i] = new PointReading { Raw = raw.AsMemory(offset, widths[i]), Value = double.NaN, TimingIndex = -1 };
        }
    }

    /// <summary>In the order in which the scanner was given its points.</summary>
    public ReadOnlySpan<PointReading> Points => readings;

    /// <summary>One for each request of the scan, refused ones too.</summary>
    public ReadOnlySpan<ModbusTiming> Timings => timings.AsSpan(0, RequestCount);

    public int RequestCount { get; private set; }

    /// <summary>Timestamp before the first request was written: nothing in the result is older. 0 without requests.</summary>
    public long Sent { get; private set; }

    /// <summary>Timestamp after the last answer was read: nothing in the result is newer. 0 without requests.</summary>
    public long Received { get; private set; }

    internal void Clear()
    {
        RequestCount = 0;
        Sent = 0;
        Received = 0;
    }

    /// <returns>Its index.</returns>
    internal int Add(ModbusTiming timing)
    {
        if (RequestCount == timings.Length)
        {
            Array.Resize(ref timings, 2 * timings.Length);
        }

        Sent = RequestCount == 0 ? timing.Sent : Math.Min(Sent, timing.Sent);
        Received = Math.Max(Received, timing.Received);
        timings[RequestCount] = timing;
        return RequestCount++;
    }

    internal void SetError(int index, PointError error, int timing)
    {
        ref var reading = ref readings[index];
        raw.AsSpan(offsets[index], reading.Raw.Length).Clear();
        SetValue(ref reading, new ModbusValue(double.NaN, null, DecodeIssue.None), error);
        reading.IsDecoded = false;
        reading.TimingIndex = timing;
    }

    internal void SetBit(int index, bool bit, int timing)
    {
        ref var reading = ref readings[index];
        raw[offsets[index]] = bit ? (ushort)1 : (ushort)0;
        SetValue(ref reading, new ModbusValue(bit ? 1 : 0, null, DecodeIssue.None), null);
        reading.TimingIndex = timing;
    }

    internal void SetRegisters(int index, ModbusPoint point, ReadOnlySpan<ushort> registers, int timing)
    {
        ref var reading = ref readings[index];
        reading.TimingIndex = timing;
        var kept = raw.AsSpan(offsets[index], registers.Length);
        if (reading.IsDecoded && registers.SequenceEqual(kept))
        {
            return;
        }

        registers.CopyTo(kept);
        var value = RegisterCodec.Decode(point, registers);
        SetValue(ref reading, value, PointError.Of(value.Issue));
        reading.IsDecoded = true;
    }

    private static void SetValue(ref PointReading reading, ModbusValue value, PointError? error)
    {
        reading.Value = value.Number;
        reading.Text = value.Text;
        reading.IsInexact = value.Issue == DecodeIssue.Inexact;
        reading.Error = error;
    }
}
