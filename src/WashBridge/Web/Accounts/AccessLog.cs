using System.Net;

namespace WashBridge.Web.Accounts;

/// <summary>Who came in and who did not.</summary>
internal static partial class AccessLog
{
    [LoggerMessage(EventId = 2301, Level = LogLevel.Information, Message = "{User} logged in from {Address}")]
    public static partial void LoggedIn(ILogger logger, string user, IPAddress? address);

    /// <summary>The name that was typed is not logged: people type passwords there.</summary>
    [LoggerMessage(EventId = 2302, Level = LogLevel.Warning, Message = "A login from {Address} is refused: {Reason}")]
    public static partial void LoginRefused(ILogger logger, IPAddress? address, string reason);

    [LoggerMessage(EventId = 2303, Level = LogLevel.Warning, Message = "{User} is locked out for {Span} after wrong passwords, the last from {Address}")]
    public static partial void UserLockedOut(ILogger logger, string user, TimeSpan span, IPAddress? address);

    [LoggerMessage(EventId = 2304, Level = LogLevel.Warning, Message = "{Address} is locked out for {Span} after wrong passwords or tokens")]
    public static partial void AddressLockedOut(ILogger logger, IPAddress? address, TimeSpan span);

    [LoggerMessage(EventId = 2305, Level = LogLevel.Information, Message = "{User} logged out")]
    public static partial void LoggedOut(ILogger logger, string user);

    [LoggerMessage(EventId = 2306, Level = LogLevel.Warning, Message = "A token from {Address} is refused: unknown, expired or revoked")]
    public static partial void TokenRefused(ILogger logger, IPAddress? address);

    [LoggerMessage(EventId = 2307, Level = LogLevel.Warning, Message = "A request from another site is refused: {Method} {Path} from {Origin}")]
    public static partial void ForeignOrigin(ILogger logger, string method, string path, string origin);

    [LoggerMessage(EventId = 2308, Level = LogLevel.Warning, Message = "A login by the identity provider is refused: {Reason}")]
    public static partial void ProviderRefused(ILogger logger, string reason);

    [LoggerMessage(EventId = 2309, Level = LogLevel.Error, Message = "Changes of accounts could not be recorded; they are kept and tried again")]
    public static partial void NotRecorded(ILogger logger, Exception failure);

    [LoggerMessage(EventId = 2310, Level = LogLevel.Information, Message = "{User} signed by password")]
    public static partial void Signed(ILogger logger, string user);

    [LoggerMessage(EventId = 2311, Level = LogLevel.Error, Message = "A request failed: {Method} {Path}")]
    public static partial void RequestFailed(ILogger logger, Exception failure, string method, string path);

    [LoggerMessage(EventId = 2312, Level = LogLevel.Warning, Message = "A login is asked for and there is no administrator: make one with washbridge users add {Store} NAME --role administrator")]
    public static partial void NobodyAdministers(ILogger logger, string store);
}
