using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>Whether a channel is new (OPC 10000-4, 5.6.2).</summary>
public enum TokenRequestType
{
    Issue = 0,
    Renew = 1,
}

/// <summary>Opens a secure channel or renews its token (OPC 10000-4, 5.6.2).</summary>
/// <param name="RequestedLifetime">Of the token, milliseconds.</param>
public sealed record OpenSecureChannelRequest(
    uint ProtocolVersion,
    TokenRequestType RequestType,
    MessageSecurityMode SecurityMode,
    byte[]? ClientNonce,
    uint RequestedLifetime)
    : IRequest<OpenSecureChannelRequest, OpenSecureChannelResponse>
{
    public static uint EncodingId => 446;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(ProtocolVersion);
        writer.WriteInt32((int)RequestType);
        writer.WriteInt32((int)SecurityMode);
        writer.WriteByteString(ClientNonce);
        writer.WriteUInt32(RequestedLifetime);
    }

    public static OpenSecureChannelRequest Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        (TokenRequestType)reader.ReadInt32(),
        (MessageSecurityMode)reader.ReadInt32(),
        reader.ReadByteString(),
        reader.ReadUInt32());
}

/// <summary>Answer to <see cref="OpenSecureChannelRequest"/>.</summary>
public sealed record OpenSecureChannelResponse(
    uint ProtocolVersion,
    ChannelSecurityToken Token,
    byte[]? ServerNonce)
    : IEncodable<OpenSecureChannelResponse>
{
    public static uint EncodingId => 449;

    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(ProtocolVersion);
        Token.Write(writer);
        writer.WriteByteString(ServerNonce);
    }

    public static OpenSecureChannelResponse Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        ChannelSecurityToken.Read(ref reader),
        reader.ReadByteString());
}

/// <summary>Names one set of keys of a channel (OPC 10000-4, 5.6.2).</summary>
/// <param name="RevisedLifetime">Milliseconds.</param>
public sealed record ChannelSecurityToken(uint ChannelId, uint TokenId, DateTime CreatedAt, uint RevisedLifetime) : IStructure<ChannelSecurityToken>
{
    public void Write(UaWriter writer)
    {
        writer.WriteUInt32(ChannelId);
        writer.WriteUInt32(TokenId);
        writer.WriteDateTime(CreatedAt);
        writer.WriteUInt32(RevisedLifetime);
    }

    public static ChannelSecurityToken Read(ref UaReader reader) => new(
        reader.ReadUInt32(),
        reader.ReadUInt32(),
        reader.ReadDateTime(),
        reader.ReadUInt32());
}

/// <summary>Ends a channel; no answer is sent (OPC 10000-4, 5.6.3).</summary>
public sealed record CloseSecureChannelRequest : IRequest<CloseSecureChannelRequest, CloseSecureChannelResponse>
{
    public static uint EncodingId => 452;

    public void Write(UaWriter writer)
    {
    }

    public static CloseSecureChannelRequest Read(ref UaReader reader) => new();
}

/// <summary>Defined, but never sent over TCP (OPC 10000-6, 7.1.4).</summary>
public sealed record CloseSecureChannelResponse : IEncodable<CloseSecureChannelResponse>
{
    public static uint EncodingId => 455;

    public void Write(UaWriter writer)
    {
    }

    public static CloseSecureChannelResponse Read(ref UaReader reader) => new();
}
