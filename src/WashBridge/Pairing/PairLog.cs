namespace WashBridge.Pairing;

/// <summary>What is said about the pair, each thing once until it changes.</summary>
internal sealed partial class PairLog(ILogger logger, Uri partner)
{
    private bool _saidSameRank;

    /// <summary>Why the partner is not heard; null: it is.</summary>
    public string? Trouble { get; private set; } = "it has not answered yet";

    public void Heard()
    {
        if (Trouble is not null)
        {
            Trouble = null;
            PartnerHeard(logger, partner);
        }
    }

    public void Unheard(string reason)
    {
        if (Trouble != reason)
        {
            Trouble = reason;
            PartnerUnheard(logger, partner, reason);
        }
    }

    public void SameRank(bool isFirst)
    {
        if (!_saidSameRank)
        {
            _saidSameRank = true;
            RanksAreTheSame(logger, isFirst ? "true" : "false");
        }
    }

    public void Copies() => CopiesPartner(logger, partner);

    public void Reads(string why) => ReadsItself(logger, why);

    public void GivesWay() => BothHaveRead(logger, partner);

    public void NotCopied(Exception failure) => CannotCopy(logger, failure);

    [LoggerMessage(EventId = 3301, Level = LogLevel.Information, Message = "The other bridge answers: {Partner}")]
    private static partial void PartnerHeard(ILogger logger, Uri partner);

    [LoggerMessage(EventId = 3302, Level = LogLevel.Error, Message = "The other bridge cannot be asked: {Partner}: {Reason}")]
    private static partial void PartnerUnheard(ILogger logger, Uri partner, string reason);

    [LoggerMessage(EventId = 3303, Level = LogLevel.Warning, Message = "pair.first is {First} at both bridges; make it true at one and false at the other")]
    private static partial void RanksAreTheSame(ILogger logger, string first);

    [LoggerMessage(EventId = 3304, Level = LogLevel.Information, Message = "This bridge copies the log of the other, {Partner}; its own reads are kept ready")]
    private static partial void CopiesPartner(ILogger logger, Uri partner);

    [LoggerMessage(EventId = 3305, Level = LogLevel.Warning, Message = "This bridge reads from now on: {Why}")]
    private static partial void ReadsItself(ILogger logger, string why);

    [LoggerMessage(EventId = 3306, Level = LogLevel.Error, Message = "Both bridges have read meanwhile and each has records of its own of that time; from now on this one copies the other, {Partner}")]
    private static partial void BothHaveRead(ILogger logger, Uri partner);

    [LoggerMessage(EventId = 3307, Level = LogLevel.Error, Message = "Could not copy; tried again")]
    private static partial void CannotCopy(ILogger logger, Exception failure);
}
