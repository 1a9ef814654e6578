using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>No user (OPC 10000-4, 7.41.3).</summary>
public sealed record AnonymousIdentityToken(string? PolicyId) : IEncodable<AnonymousIdentityToken>
{
    public static uint EncodingId => 321;

    public void Write(UaWriter writer)
    {
        writer.WriteString(PolicyId);
    }

    public static AnonymousIdentityToken Read(ref UaReader reader) => new(
        reader.ReadString());
}

/// <summary>A user with a password, encrypted unless the token's policy is None (OPC 10000-4, 7.41.4).</summary>
public sealed record UserNameIdentityToken(
    string? PolicyId,
    string? UserName,
    byte[]? Password,
    string? EncryptionAlgorithm)
    : IEncodable<UserNameIdentityToken>
{
    public static uint EncodingId => 324;

    public void Write(UaWriter writer)
    {
        writer.WriteString(PolicyId);
        writer.WriteString(UserName);
        writer.WriteByteString(Password);
        writer.WriteString(EncryptionAlgorithm);
    }

    public static UserNameIdentityToken Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadByteString(),
        reader.ReadString());
}

/// <summary>A user with a certificate (OPC 10000-4, 7.41.5).</summary>
public sealed record X509IdentityToken(string? PolicyId, byte[]? CertificateData) : IEncodable<X509IdentityToken>
{
    public static uint EncodingId => 327;

    public void Write(UaWriter writer)
    {
        writer.WriteString(PolicyId);
        writer.WriteByteString(CertificateData);
    }

    public static X509IdentityToken Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadByteString());
}
