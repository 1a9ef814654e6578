using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Subscribing;

/// <summary>
/// Places a server's times on our steady clock, as far as its clock is known. What cannot be placed has no bounds of its own.
/// </summary>
internal sealed class ServerTime(long stampsPerSecond)
{
    /// <summary>A clock known no better than this tells less than the arrival of its messages.</summary>
    private const double WorstSeconds = 2;

    private ClockOffset? _offset;

    public void Know(in ClockOffset offset) => _offset = offset;

    public StampBounds? Place(DateTime? serverTime)
    {
        if (_offset is not { } offset || serverTime is not { } time || time == DateTime.MinValue)
        {
            return null;
        }

        var (earliest, latest) = offset.ToStamps(time);
        return latest - earliest <= WorstSeconds * stampsPerSecond ? new StampBounds(earliest, latest) : null;
    }

    /// <summary>When a message was made up: by its own time where that can be placed, and in any case after the one before it and before it arrived.</summary>
    public StampBounds Published(DateTime publishTime, long before, long received)
    {
        var arrived = new StampBounds(Math.Min(before, received), received);
        return Place(publishTime) is { } placed && placed.Latest >= arrived.Earliest && placed.Earliest <= received
            ? new StampBounds(Math.Max(placed.Earliest, arrived.Earliest), Math.Min(placed.Latest, received))
            : arrived;
    }
}
