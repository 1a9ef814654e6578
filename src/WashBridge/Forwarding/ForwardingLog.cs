namespace WashBridge.Forwarding;

/// <summary>What forwarding says to operators. Event ids 3100 to 3199 are promised: alerts may be built on them.</summary>
internal static partial class ForwardingLog
{
    [LoggerMessage(3101, LogLevel.Information, "{Follower} follows the log from {Cursor}; {Backlog} entries are waiting")]
    public static partial void Following(ILogger logger, string follower, long cursor, long backlog);

    [LoggerMessage(3102, LogLevel.Warning, "{Follower} cannot deliver ({Failure}), tries again in {Delay}: {Reason}")]
    public static partial void Failing(ILogger logger, string follower, InfluxFailure failure, TimeSpan delay, string reason);

    [LoggerMessage(3103, LogLevel.Error, "{Follower} cannot deliver until somebody acts ({Failure}), tries again in {Delay}: {Reason}")]
    public static partial void NeedsAction(ILogger logger, string follower, InfluxFailure failure, TimeSpan delay, string reason);

    [LoggerMessage(3104, LogLevel.Information, "{Follower} delivers again after {Outage}, {Attempts} attempts in vain")]
    public static partial void Recovered(ILogger logger, string follower, TimeSpan outage, int attempts);

    [LoggerMessage(3105, LogLevel.Warning, "{Follower} set a line of log entry {Sequence} (event {EventId}) aside: {Reason}")]
    public static partial void SetAside(ILogger logger, string follower, long sequence, string? eventId, string reason);

    [LoggerMessage(3106, LogLevel.Error, "{Follower} gave up the {Lines} oldest lines that were set aside: {Path} is full")]
    public static partial void GivenUp(ILogger logger, string follower, int lines, string path);

    [LoggerMessage(3107, LogLevel.Warning, "{Follower} left {Fields} numbers out that are not finite: InfluxDB has no form for them")]
    public static partial void Omitted(ILogger logger, string follower, int fields);

    [LoggerMessage(3108, LogLevel.Information, "{Follower} stopped; the log is done up to {Cursor}")]
    public static partial void Stopped(ILogger logger, string follower, long cursor);

    [LoggerMessage(3109, LogLevel.Debug, "{Follower} tries again in {Delay} ({Failure}): {Reason}")]
    public static partial void Retrying(ILogger logger, string follower, InfluxFailure failure, TimeSpan delay, string reason);

    [LoggerMessage(3110, LogLevel.Warning, "{Follower} cannot be told how the bridge stands ({Failure}): {Reason}")]
    public static partial void HealthNotTold(ILogger logger, string follower, InfluxFailure failure, string reason);
}
