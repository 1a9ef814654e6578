using Microsoft.Extensions.Logging;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>What the server logs; the numbers are listed in DEVELOPERS.md. Texts from peers are shortened and stripped of control characters.</summary>
internal sealed partial class ServerLog(ILogger logger)
{
    private const int MaxPeerText = 128;

    [LoggerMessage(1351, LogLevel.Information, "OPC UA server: listening at {Endpoint}")]
    public partial void Listening(Uri endpoint);

    [LoggerMessage(1352, LogLevel.Warning, "OPC UA server: an unprotected endpoint is offered: whoever reaches {Endpoint} can read and alter everything that is sent")]
    public partial void Unprotected(Uri endpoint);

    [LoggerMessage(1353, LogLevel.Warning, "OPC UA server: accepting a connection failed: {Reason}")]
    public partial void AcceptFailed(string reason);

    [LoggerMessage(1354, LogLevel.Warning, "OPC UA server: refused a connection from {Peer}: {Limit} are open, no more are allowed")]
    public partial void TooManyConnections(string peer, int limit);

    [LoggerMessage(1355, LogLevel.Debug, "OPC UA server: connection from {Peer} ended: {Reason}")]
    public partial void ConnectionEnded(string peer, string reason);

    [LoggerMessage(1356, LogLevel.Warning, "OPC UA server: refused the certificate of the client at {Peer}: {Reason}")]
    public partial void CertificateRefused(string peer, string reason);

    public void LoginRefused(string peer, string user, bool isLockedOut) => LogLoginRefused(peer, Clean(user), isLockedOut ? " (locked out)" : "");

    public void SessionActivated(string peer, string? name, string user) => LogSessionActivated(peer, Clean(name), Clean(user));

    public void SessionEnded(string? name, string reason) => LogSessionEnded(Clean(name), reason);

    public void RequestFailed(string peer, string service, Exception exception) => LogRequestFailed(exception, peer, service);

    /// <summary>What a peer wrote, fit for one line of a log.</summary>
    private static string Clean(string? text) =>
        string.Concat((text ?? "").Take(MaxPeerText).Select(static character => char.IsControl(character) ? '?' : character));

    [LoggerMessage(1357, LogLevel.Warning, "OPC UA server: refused a login from {Peer} as \"{User}\"{LockedOut}")]
    private partial void LogLoginRefused(string peer, string user, string lockedOut);

    [LoggerMessage(1358, LogLevel.Information, "OPC UA server: session \"{Session}\" from {Peer} as {User}")]
    private partial void LogSessionActivated(string peer, string session, string user);

    [LoggerMessage(1359, LogLevel.Information, "OPC UA server: session \"{Session}\" ended: {Reason}")]
    private partial void LogSessionEnded(string session, string reason);

    [LoggerMessage(1360, LogLevel.Error, "OPC UA server: {Service} of {Peer} failed for a reason of our own")]
    private partial void LogRequestFailed(Exception exception, string peer, string service);
}
