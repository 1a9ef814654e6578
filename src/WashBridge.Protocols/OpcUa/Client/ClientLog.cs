using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Operators alert on these ids: they never change meaning.</summary>
internal static partial class ClientLog
{
    [LoggerMessage(1301, LogLevel.Information, "Connected to OPC UA server {Endpoint} ({Server}) with policy {Policy}, mode {Mode}, {Identity}; session time-out {Timeout}")]
    public static partial void Connected(ILogger logger, Uri endpoint, string? server, SecurityPolicy policy, MessageSecurityMode mode, UserIdentity identity, TimeSpan timeout);

    [LoggerMessage(1302, LogLevel.Warning, "Lost the connection to OPC UA server {Endpoint}: {Reason}")]
    public static partial void ConnectionLost(ILogger logger, Uri endpoint, string reason);

    [LoggerMessage(1303, LogLevel.Warning, "Cannot connect to OPC UA server {Endpoint}, attempt {Attempt}: {Reason}")]
    public static partial void CannotConnect(ILogger logger, Uri endpoint, int attempt, string reason);

    [LoggerMessage(1304, LogLevel.Information, "Activated the session with OPC UA server {Endpoint} on a new channel")]
    public static partial void Reactivated(ILogger logger, Uri endpoint);

    [LoggerMessage(1305, LogLevel.Warning, "OPC UA server {Endpoint} has forgotten the session; a new one is created: {Reason}")]
    public static partial void SessionGone(ILogger logger, Uri endpoint, string reason);

    [LoggerMessage(1306, LogLevel.Information, "Created subscription {Name} ({Id}) at {Endpoint}: {Items} items, published every {Interval}, keep-alive {KeepAlive}, lifetime {Lifetime}; refused items: {Refused}")]
    public static partial void SubscriptionCreated(ILogger logger, string name, uint id, Uri endpoint, int items, TimeSpan interval, TimeSpan keepAlive, TimeSpan lifetime, int refused);

    [LoggerMessage(1307, LogLevel.Information, "Took subscription {Name} ({Id}) at {Endpoint} over into the new session")]
    public static partial void SubscriptionTransferred(ILogger logger, string name, uint id, Uri endpoint);

    [LoggerMessage(1308, LogLevel.Warning, "Subscription {Name} ({Id}) at {Endpoint} is lost and created anew: {Reason}")]
    public static partial void SubscriptionLost(ILogger logger, string name, uint id, Uri endpoint, string reason);

    [LoggerMessage(1309, LogLevel.Warning, "Item {Handle} ({Node}) of subscription {Name} at {Endpoint} is not watched: {Status}; tried again every {Retry}")]
    public static partial void ItemRefused(ILogger logger, uint handle, NodeAddress node, string name, Uri endpoint, StatusCode status, TimeSpan retry);

    [LoggerMessage(1310, LogLevel.Information, "Item {Handle} ({Node}) of subscription {Name} at {Endpoint} is watched again")]
    public static partial void ItemBack(ILogger logger, uint handle, NodeAddress node, string name, Uri endpoint);

    [LoggerMessage(1311, LogLevel.Information, "Message {Number} of subscription {Name} at {Endpoint} was lost on the way and has been sent again")]
    public static partial void Republished(ILogger logger, uint number, string name, Uri endpoint);

    [LoggerMessage(1312, LogLevel.Warning, "{Count} messages from {First} of subscription {Name} at {Endpoint} are lost: {Reason}")]
    public static partial void MessagesLost(ILogger logger, uint count, uint first, string name, Uri endpoint, string reason);

    [LoggerMessage(1313, LogLevel.Information, "OPC UA server {Endpoint} takes no more than {Count} publish requests")]
    public static partial void FewerPublishRequests(ILogger logger, Uri endpoint, int count);

    [LoggerMessage(1314, LogLevel.Warning, "The clock of OPC UA server {Endpoint} has been set; it is now ahead of ours by {Lower} to {Upper}")]
    public static partial void ServerClockSet(ILogger logger, Uri endpoint, TimeSpan lower, TimeSpan upper);

    [LoggerMessage(1315, LogLevel.Warning, "The namespaces of OPC UA server {Endpoint} have changed; all node ids are looked up anew")]
    public static partial void NamespacesChanged(ILogger logger, Uri endpoint);

    [LoggerMessage(1316, LogLevel.Warning, "The connection to OPC UA server {Endpoint} is not protected: policy None was asked for. Anybody on the network can read and change what is sent")]
    public static partial void NotProtected(ILogger logger, Uri endpoint);

    [LoggerMessage(1317, LogLevel.Warning, "The password for OPC UA server {Endpoint} is sent unencrypted, as was allowed. Anybody on the network can read it")]
    public static partial void PasswordInClear(ILogger logger, Uri endpoint);

    [LoggerMessage(1318, LogLevel.Information, "OPC UA server {Endpoint} refused {Service} for {Count} at once ({Status}); fewer are tried from now on")]
    public static partial void FewerOperations(ILogger logger, Uri endpoint, string service, int count, StatusCode status);

    [LoggerMessage(1319, LogLevel.Error, "The listener of subscription {Name} failed; the message is dropped")]
    public static partial void ListenerFailed(ILogger logger, string name, Exception exception);

    [LoggerMessage(1320, LogLevel.Warning, "OPC UA server {Endpoint} says that its state is {State} (0: running)")]
    public static partial void ServerNotRunning(ILogger logger, Uri endpoint, int state);

    [LoggerMessage(1321, LogLevel.Information, "OPC UA server {Endpoint} has not answered for {Silence}; a second connection is tried beside the first")]
    public static partial void Suspected(ILogger logger, Uri endpoint, TimeSpan silence);

    [LoggerMessage(1322, LogLevel.Warning, "Subscription {Name} cannot be created at {Endpoint}: {Reason}; tried again in {Retry}")]
    public static partial void SubscriptionRefused(ILogger logger, string name, Uri endpoint, string reason, TimeSpan retry);

    [LoggerMessage(1323, LogLevel.Warning, "The certificate of OPC UA server {Endpoint} is accepted only because of an exception: {Finding}")]
    public static partial void CertificateAllowed(ILogger logger, Uri endpoint, string finding);

    [LoggerMessage(1324, LogLevel.Debug, "A publish request was refused by OPC UA server {Endpoint}: {Reason}")]
    public static partial void PublishRefused(ILogger logger, Uri endpoint, string reason);

    [LoggerMessage(1325, LogLevel.Debug, "Subscription {Id} at {Endpoint} is not known here (any more) and is deleted")]
    public static partial void UnknownSubscription(ILogger logger, uint id, Uri endpoint);

    [LoggerMessage(1326, LogLevel.Error, "The keeping of the connection to OPC UA server {Endpoint} failed and begins anew")]
    public static partial void SupervisionFailed(ILogger logger, Uri endpoint, Exception exception);
}
