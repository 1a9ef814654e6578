using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>What an application is (OPC 10000-4, 7.4).</summary>
public enum ApplicationType
{
    Server = 0,
    Client = 1,
    ClientAndServer = 2,
    DiscoveryServer = 3,
}

/// <summary>How a user proves who they are (OPC 10000-4, 7.42).</summary>
public enum UserTokenType
{
    Anonymous = 0,
    UserName = 1,
    Certificate = 2,
    IssuedToken = 3,
}

/// <summary>An application (OPC 10000-4, 7.2).</summary>
public sealed record ApplicationDescription(
    string? ApplicationUri,
    string? ProductUri,
    LocalizedText ApplicationName,
    ApplicationType Type,
    string? GatewayServerUri,
    string? DiscoveryProfileUri,
    IReadOnlyList<string?> DiscoveryUrls)
    : IStructure<ApplicationDescription>
{
    public void Write(UaWriter writer)
    {
        writer.WriteString(ApplicationUri);
        writer.WriteString(ProductUri);
        writer.WriteLocalizedText(ApplicationName);
        writer.WriteInt32((int)Type);
        writer.WriteString(GatewayServerUri);
        writer.WriteString(DiscoveryProfileUri);
        writer.WriteArray(DiscoveryUrls, static (w, e) => w.WriteString(e));
    }

    public static ApplicationDescription Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadLocalizedText(),
        (ApplicationType)reader.ReadInt32(),
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadArray(static (ref UaReader r) => r.ReadString()));
}

/// <summary>A kind of user identity that an endpoint accepts (OPC 10000-4, 7.42).</summary>
/// <param name="SecurityPolicyUri">Protects the token; null or empty: that of the endpoint.</param>
public sealed record UserTokenPolicy(
    string? PolicyId,
    UserTokenType TokenType,
    string? IssuedTokenType,
    string? IssuerEndpointUrl,
    string? SecurityPolicyUri)
    : IStructure<UserTokenPolicy>
{
    public void Write(UaWriter writer)
    {
        writer.WriteString(PolicyId);
        writer.WriteInt32((int)TokenType);
        writer.WriteString(IssuedTokenType);
        writer.WriteString(IssuerEndpointUrl);
        writer.WriteString(SecurityPolicyUri);
    }

    public static UserTokenPolicy Read(ref UaReader reader) => new(
        reader.ReadString(),
        (UserTokenType)reader.ReadInt32(),
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadString());
}

/// <summary>One way to reach a server (OPC 10000-4, 7.14).</summary>
/// <param name="SecurityLevel">Relative; higher is stronger. Told by the server, so not a reason to trust it.</param>
public sealed record EndpointDescription(
    string? EndpointUrl,
    ApplicationDescription Server,
    byte[]? ServerCertificate,
    MessageSecurityMode SecurityMode,
    string? SecurityPolicyUri,
    IReadOnlyList<UserTokenPolicy> UserIdentityTokens,
    string? TransportProfileUri,
    byte SecurityLevel)
    : IStructure<EndpointDescription>
{
    public void Write(UaWriter writer)
    {
        writer.WriteString(EndpointUrl);
        Server.Write(writer);
        writer.WriteByteString(ServerCertificate);
        writer.WriteInt32((int)SecurityMode);
        writer.WriteString(SecurityPolicyUri);
        writer.WriteArray(UserIdentityTokens);
        writer.WriteString(TransportProfileUri);
        writer.WriteByte(SecurityLevel);
    }

    public static EndpointDescription Read(ref UaReader reader) => new(
        reader.ReadString(),
        ApplicationDescription.Read(ref reader),
        reader.ReadByteString(),
        (MessageSecurityMode)reader.ReadInt32(),
        reader.ReadString(),
        reader.ReadArray<UserTokenPolicy>(),
        reader.ReadString(),
        reader.ReadByte());
}

/// <summary>Asks how a server can be reached (OPC 10000-4, 5.5.4).</summary>
public sealed record GetEndpointsRequest(
    string? EndpointUrl,
    IReadOnlyList<string?> LocaleIds,
    IReadOnlyList<string?> ProfileUris)
    : IRequest<GetEndpointsRequest, GetEndpointsResponse>
{
    public static uint EncodingId => 428;

    public void Write(UaWriter writer)
    {
        writer.WriteString(EndpointUrl);
        writer.WriteArray(LocaleIds, static (w, e) => w.WriteString(e));
        writer.WriteArray(ProfileUris, static (w, e) => w.WriteString(e));
    }

    public static GetEndpointsRequest Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadArray(static (ref UaReader r) => r.ReadString()),
        reader.ReadArray(static (ref UaReader r) => r.ReadString()));
}

/// <summary>Answer to <see cref="GetEndpointsRequest"/>.</summary>
public sealed record GetEndpointsResponse(IReadOnlyList<EndpointDescription> Endpoints) : IEncodable<GetEndpointsResponse>
{
    public static uint EncodingId => 431;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Endpoints);
    }

    public static GetEndpointsResponse Read(ref UaReader reader) => new(
        reader.ReadArray<EndpointDescription>());
}

/// <summary>Asks for the servers known at an address (OPC 10000-4, 5.5.2).</summary>
public sealed record FindServersRequest(
    string? EndpointUrl,
    IReadOnlyList<string?> LocaleIds,
    IReadOnlyList<string?> ServerUris)
    : IRequest<FindServersRequest, FindServersResponse>
{
    public static uint EncodingId => 422;

    public void Write(UaWriter writer)
    {
        writer.WriteString(EndpointUrl);
        writer.WriteArray(LocaleIds, static (w, e) => w.WriteString(e));
        writer.WriteArray(ServerUris, static (w, e) => w.WriteString(e));
    }

    public static FindServersRequest Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadArray(static (ref UaReader r) => r.ReadString()),
        reader.ReadArray(static (ref UaReader r) => r.ReadString()));
}

/// <summary>Answer to <see cref="FindServersRequest"/>.</summary>
public sealed record FindServersResponse(IReadOnlyList<ApplicationDescription> Servers) : IEncodable<FindServersResponse>
{
    public static uint EncodingId => 425;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Servers);
    }

    public static FindServersResponse Read(ref UaReader reader) => new(
        reader.ReadArray<ApplicationDescription>());
}
