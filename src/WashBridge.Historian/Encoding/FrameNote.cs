using WashBridge.Core.Time;

namespace WashBridge.Historian.Encoding;

/// <summary>What few frames have: a reason, a clock shift.</summary>
internal static class FrameNote
{
    private const byte HasReason = 1;
    private const byte HasClock = 2;
    private const byte ShiftKnown = 4;

    public static void Write(ByteWriter writer, string? reason, ClockShift? clock)
    {
        var flags = (reason is null ? 0 : HasReason) | (clock is null ? 0 : HasClock) | (clock?.Shift is null ? 0 : ShiftKnown);
        writer.Byte((byte)flags);
        if (reason is not null)
        {
            writer.Text(reason);
        }

        if (clock?.Shift is { } shift)
        {
            writer.Zigzag(shift.Ticks);
        }
    }

    public static (string? Reason, ClockShift? Clock) Read(ref ByteReader reader)
    {
        var flags = reader.Byte();
        var reason = (flags & HasReason) != 0 ? reader.Text() : null;
        if ((flags & HasClock) == 0)
        {
            return (reason, null);
        }

        return (reason, new ClockShift((flags & ShiftKnown) != 0 ? new TimeSpan(reader.Zigzag()) : null));
    }
}
