using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>A signature and the URI of its algorithm (OPC 10000-4, 7.37).</summary>
public sealed record SignatureData(string? Algorithm, byte[]? Signature) : IStructure<SignatureData>
{
    public void Write(UaWriter writer)
    {
        writer.WriteString(Algorithm);
        writer.WriteByteString(Signature);
    }

    public static SignatureData Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadByteString());
}

/// <summary>Begins a session (OPC 10000-4, 5.7.2).</summary>
/// <param name="RequestedSessionTimeout">Milliseconds.</param>
/// <param name="MaxResponseMessageSize">Bytes; 0: no limit.</param>
public sealed record CreateSessionRequest(
    ApplicationDescription Client,
    string? ServerUri,
    string? EndpointUrl,
    string? SessionName,
    byte[]? ClientNonce,
    byte[]? ClientCertificate,
    double RequestedSessionTimeout,
    uint MaxResponseMessageSize)
    : IRequest<CreateSessionRequest, CreateSessionResponse>
{
    public static uint EncodingId => 461;

    public void Write(UaWriter writer)
    {
        Client.Write(writer);
        writer.WriteString(ServerUri);
        writer.WriteString(EndpointUrl);
        writer.WriteString(SessionName);
        writer.WriteByteString(ClientNonce);
        writer.WriteByteString(ClientCertificate);
        writer.WriteDouble(RequestedSessionTimeout);
        writer.WriteUInt32(MaxResponseMessageSize);
    }

    public static CreateSessionRequest Read(ref UaReader reader) => new(
        ApplicationDescription.Read(ref reader),
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadByteString(),
        reader.ReadByteString(),
        reader.ReadDouble(),
        reader.ReadUInt32());
}

/// <summary>Answer to <see cref="CreateSessionRequest"/>.</summary>
/// <param name="RevisedSessionTimeout">Milliseconds.</param>
/// <param name="MaxRequestMessageSize">Bytes; 0: no limit.</param>
public sealed record CreateSessionResponse(
    NodeId SessionId,
    NodeId AuthenticationToken,
    double RevisedSessionTimeout,
    byte[]? ServerNonce,
    byte[]? ServerCertificate,
    IReadOnlyList<EndpointDescription> ServerEndpoints,
    SignatureData ServerSignature,
    uint MaxRequestMessageSize)
    : IEncodable<CreateSessionResponse>
{
    public static uint EncodingId => 464;

    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(SessionId);
        writer.WriteNodeId(AuthenticationToken);
        writer.WriteDouble(RevisedSessionTimeout);
        writer.WriteByteString(ServerNonce);
        writer.WriteByteString(ServerCertificate);
        writer.WriteArray(ServerEndpoints);
        writer.WriteInt32(0); // certificates
        ServerSignature.Write(writer);
        writer.WriteUInt32(MaxRequestMessageSize);
    }

    public static CreateSessionResponse Read(ref UaReader reader)
    {
        var sessionId = reader.ReadNodeId();
        var authenticationToken = reader.ReadNodeId();
        var revisedSessionTimeout = reader.ReadDouble();
        var serverNonce = reader.ReadByteString();
        var serverCertificate = reader.ReadByteString();
        var serverEndpoints = reader.ReadArray<EndpointDescription>();
        reader.SkipCertificates();
        var serverSignature = SignatureData.Read(ref reader);
        var maxRequestMessageSize = reader.ReadUInt32();
        return new CreateSessionResponse(sessionId, authenticationToken, revisedSessionTimeout, serverNonce, serverCertificate, serverEndpoints, serverSignature, maxRequestMessageSize);
    }
}

/// <summary>Ties a session to a channel and a user (OPC 10000-4, 5.7.3).</summary>
public sealed record ActivateSessionRequest(
    SignatureData ClientSignature,
    IReadOnlyList<string?> LocaleIds,
    ExtensionObject UserIdentityToken,
    SignatureData UserTokenSignature)
    : IRequest<ActivateSessionRequest, ActivateSessionResponse>
{
    public static uint EncodingId => 467;

    public void Write(UaWriter writer)
    {
        ClientSignature.Write(writer);
        writer.WriteInt32(0); // certificates
        writer.WriteArray(LocaleIds, static (w, e) => w.WriteString(e));
        writer.WriteExtensionObject(UserIdentityToken);
        UserTokenSignature.Write(writer);
    }

    public static ActivateSessionRequest Read(ref UaReader reader)
    {
        var clientSignature = SignatureData.Read(ref reader);
        reader.SkipCertificates();
        var localeIds = reader.ReadArray(static (ref UaReader r) => r.ReadString());
        var userIdentityToken = reader.ReadExtensionObject();
        var userTokenSignature = SignatureData.Read(ref reader);
        return new ActivateSessionRequest(clientSignature, localeIds, userIdentityToken, userTokenSignature);
    }
}

/// <summary>Answer to <see cref="ActivateSessionRequest"/>.</summary>
public sealed record ActivateSessionResponse(byte[]? ServerNonce, IReadOnlyList<StatusCode> Results) : IEncodable<ActivateSessionResponse>
{
    public static uint EncodingId => 470;

    public void Write(UaWriter writer)
    {
        writer.WriteByteString(ServerNonce);
        writer.WriteArray(Results, static (w, e) => w.WriteStatusCode(e));
        writer.WriteInt32(0); // diagnostics
    }

    public static ActivateSessionResponse Read(ref UaReader reader)
    {
        var message = new ActivateSessionResponse(
            reader.ReadByteString(),
            reader.ReadArray(static (ref UaReader r) => r.ReadStatusCode()));
        reader.SkipDiagnostics();
        return message;
    }
}

/// <summary>Ends a session (OPC 10000-4, 5.7.4).</summary>
public sealed record CloseSessionRequest(bool DeleteSubscriptions) : IRequest<CloseSessionRequest, CloseSessionResponse>
{
    public static uint EncodingId => 473;

    public void Write(UaWriter writer)
    {
        writer.WriteBoolean(DeleteSubscriptions);
    }

    public static CloseSessionRequest Read(ref UaReader reader) => new(
        reader.ReadBoolean());
}

/// <summary>Answer to <see cref="CloseSessionRequest"/>.</summary>
public sealed record CloseSessionResponse : IEncodable<CloseSessionResponse>
{
    public static uint EncodingId => 476;

    public void Write(UaWriter writer)
    {
    }

    public static CloseSessionResponse Read(ref UaReader reader) => new();
}
