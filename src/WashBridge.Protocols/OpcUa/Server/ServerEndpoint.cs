using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>A way of protecting channels that a server offers.</summary>
public sealed record ServerEndpoint(SecurityPolicy Policy, MessageSecurityMode Mode)
{
    /// <summary>No protection at all: for closed networks and trials.</summary>
    public static ServerEndpoint Unprotected { get; } = new(SecurityPolicy.None, MessageSecurityMode.None);

    /// <summary>Every policy but None, each with Sign and with SignAndEncrypt.</summary>
    public static IReadOnlyList<ServerEndpoint> Protected { get; } =
        [.. SecurityPolicy.All.Where(static policy => !policy.IsNone).SelectMany(static policy => new[]
        {
            new ServerEndpoint(policy, MessageSecurityMode.Sign),
            new ServerEndpoint(policy, MessageSecurityMode.SignAndEncrypt),
        })];

    internal bool IsConsistent => Policy.IsNone ? Mode == MessageSecurityMode.None : Mode is MessageSecurityMode.Sign or MessageSecurityMode.SignAndEncrypt;
}
