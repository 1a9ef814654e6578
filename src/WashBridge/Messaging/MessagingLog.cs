namespace WashBridge.Messaging;

/// <summary>What the MQTT follower says to operators. Event ids 3200 to 3299 are promised: alerts may be built on them.</summary>
internal static partial class MessagingLog
{
    [LoggerMessage(3201, LogLevel.Information, "{Follower} follows the log from {Cursor}; {Backlog} entries are waiting")]
    public static partial void Following(ILogger logger, string follower, long cursor, long backlog);

    [LoggerMessage(3202, LogLevel.Warning, "{Follower} cannot deliver ({Failure}), tries again in {Delay}: {Reason}")]
    public static partial void Failing(ILogger logger, string follower, MqttFailure failure, TimeSpan delay, string reason);

    [LoggerMessage(3203, LogLevel.Error, "{Follower} cannot deliver until somebody acts ({Failure}), tries again in {Delay}: {Reason}")]
    public static partial void NeedsAction(ILogger logger, string follower, MqttFailure failure, TimeSpan delay, string reason);

    [LoggerMessage(3204, LogLevel.Information, "{Follower} is online (bdSeq {BdSeq}) after {Attempts} attempts in vain")]
    public static partial void Online(ILogger logger, string follower, long bdSeq, int attempts);

    [LoggerMessage(3205, LogLevel.Information, "{Follower} was asked for a rebirth and sends its birth certificates again")]
    public static partial void Rebirth(ILogger logger, string follower);

    [LoggerMessage(3206, LogLevel.Warning, "{Follower} ignored a message on {Topic} ({Metrics}): nothing but a rebirth can be asked for; {Count} so far in this session")]
    public static partial void CommandIgnored(ILogger logger, string follower, string topic, string metrics, int count);

    [LoggerMessage(3207, LogLevel.Information, "{Follower} holds its data: the primary host {Host} is not online")]
    public static partial void HostOffline(ILogger logger, string follower, string host);

    [LoggerMessage(3208, LogLevel.Information, "{Follower} stopped; the log is done up to {Cursor}")]
    public static partial void Stopped(ILogger logger, string follower, long cursor);

    [LoggerMessage(3209, LogLevel.Debug, "{Follower} tries again in {Delay} ({Failure}): {Reason}")]
    public static partial void Retrying(ILogger logger, string follower, MqttFailure failure, TimeSpan delay, string reason);

    [LoggerMessage(3210, LogLevel.Warning, "{Follower} ignored a message on {Topic} that is no state of a host, or is older than the last")]
    public static partial void StateIgnored(ILogger logger, string follower, string topic);
}
