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

    /// <summary>When a message was made up: by its own time where that can be placed, and in any case between two stamps.</summary>
    /// <param name="after">The message before it was made up then or later, and its request was sent then or later.</param>
    /// <param name="received">It had arrived by then.</param>
    public StampBounds Published(DateTime publishTime, long after, long received)
    {
        var arrived = new StampBounds(Math.Min(after, received), received);
        return Place(publishTime) is { } placed && placed.Latest >= arrived.Earliest && placed.Earliest <= received
            ? new StampBounds(Math.Max(placed.Earliest, arrived.Earliest), Math.Min(placed.Latest, received))
            : arrived;
    }
}
