using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>On whose behalf a subscription exists.</summary>
/// <param name="IsProtected">The channel is signed, so that the application is known to be the one that it says.</param>
internal sealed record SubscriptionOwner(SessionUser User, string ApplicationUri, bool IsProtected)
{
    public static SubscriptionOwner Of(Session session) =>
        new(session.User ?? SessionUser.Anonymous, session.ApplicationUri, session.Connection.Mode is MessageSecurityMode.Sign or MessageSecurityMode.SignAndEncrypt);

    /// <summary>
    /// The same user; of anonymous ones the same application on signed channels, without which anybody could claim to be it (OPC 10000-4, 5.14.7.1).
    /// </summary>
    public bool MayTakeOver(SubscriptionOwner from, bool allowUnprotected) => User.IsAnonymous && from.User.IsAnonymous
        ? ApplicationUri == from.ApplicationUri && ((IsProtected && from.IsProtected) || allowUnprotected)
        : User == from.User;
}
