using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>What policy and mode mean for the chunks of a channel.</summary>
internal sealed class ChannelSecurity(SecurityPolicy policy, MessageSecurityMode mode)
{
    public SecurityPolicy Policy { get; } = policy;

    public MessageSecurityMode Mode { get; } = mode;

    /// <summary>Behind the body of a chunk; 0 where nothing is signed.</summary>
    public int SignatureBytes { get; } = mode == MessageSecurityMode.None ? 0 : policy.SymmetricSignatureBytes;

    /// <summary>What is encrypted must be a multiple of this; 0 where nothing is encrypted.</summary>
    public int BlockBytes { get; } = mode == MessageSecurityMode.SignAndEncrypt ? policy.SymmetricBlockBytes : 0;

    public bool Signs => SignatureBytes > 0;

    public bool Encrypts => BlockBytes > 0;

    public static void Check(SecurityPolicy policy, MessageSecurityMode mode, string name)
    {
        ArgumentNullException.ThrowIfNull(policy, name);
        if (policy.IsNone ? mode != MessageSecurityMode.None : mode is not (MessageSecurityMode.Sign or MessageSecurityMode.SignAndEncrypt))
        {
            throw new ArgumentException($"mode {mode} with the policy {policy.Name}; allowed: None with None, Sign or SignAndEncrypt with all others", name);
        }
    }
}

/// <summary>One set of keys and how long it may be used.</summary>
/// <param name="Send">Null where nothing is protected.</param>
/// <param name="Receive">Null where nothing is protected.</param>
/// <param name="Created">Stamp of the TimeProvider.</param>
internal sealed record ChannelToken(uint Id, ChannelKeys? Send, ChannelKeys? Receive, long Created, TimeSpan Lifetime)
{
    /// <summary>Messages under an expired token are still accepted for a quarter of its life (OPC 10000-4, 5.6.2.1).</summary>
    public TimeSpan AcceptedFor => Lifetime * 1.25;
}
