using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Subscribing;

/// <summary>
/// Which messages tell of a loss that was not marked yet. After lost messages the server's values are read anew; that can be told before or after the
/// first message behind the gap, and each of the two says that something is missing before it. The gap is one, and what was read is kept.
/// </summary>
internal sealed class LossMarks
{
    private Awaited _awaited = Awaited.Either;

    private enum Awaited
    {
        Nothing,

        /// <summary>The first message of a subscription, which has nothing before it, or a reading in its place.</summary>
        Either,

        /// <summary>The gap is marked and the message behind it is here; the reading is still to come.</summary>
        Reading,

        /// <summary>The gap is marked and the reading is here; the message behind the gap is still to come.</summary>
        Message,
    }

    /// <summary>A subscription begins, its gap is marked, and nothing of it has come yet.</summary>
    public void BeginAnew() => _awaited = Awaited.Either;

    /// <summary>Whether everything that was known before <paramref name="notification"/> counts no more.</summary>
    public bool Tells(in PublishedNotification notification)
    {
        var isReading = notification.Origin == NotificationOrigin.ReadAnew;
        if (!isReading && notification.Continuous)
        {
            _awaited = _awaited == Awaited.Reading ? Awaited.Reading : Awaited.Nothing;
            return false;
        }

        (var isNews, _awaited) = (_awaited, isReading) switch
        {
            (Awaited.Nothing, true) => (true, Awaited.Message),
            (Awaited.Nothing or Awaited.Reading, false) => (true, Awaited.Reading),
            (Awaited.Either or Awaited.Message, true) => (false, Awaited.Message),
            _ => (false, Awaited.Nothing),
        };
        return isNews;
    }
}
