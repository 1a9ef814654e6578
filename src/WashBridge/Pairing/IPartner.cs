namespace WashBridge.Pairing;

/// <summary>The other of a pair, as far as it can be asked.</summary>
internal interface IPartner
{
    /// <param name="after">All entries of its log up to here have been looked at.</param>
    /// <param name="atMost">So many of those behind at most; 0: how it stands, at once.</param>
    /// <param name="wait">It may wait so long for something to come, if it has nothing.</param>
    /// <exception cref="PartnerException">It does not answer, or not so that it is understood.</exception>
    Task<PairAnswer> AskAsync(long after, int atMost, TimeSpan wait, CancellationToken cancellation);
}

/// <summary>A page, and when it was asked for and got, on our clock.</summary>
internal sealed record PairAnswer(PairPage Page, DateTimeOffset Sent, DateTimeOffset Received)
{
    public ClockOffset Offset => ClockOffset.Of(Sent, Page.Asked, Page.Answered, Received);
}

/// <summary>The partner did not answer, or not so that it is understood; the message says why.</summary>
internal sealed class PartnerException(string message, Exception? inner = null) : Exception(message, inner);
