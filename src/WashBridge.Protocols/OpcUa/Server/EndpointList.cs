using System.Net;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>What the server tells about itself without a session (OPC 10000-4, 5.5).</summary>
internal sealed class EndpointList
{
    public const string BinaryTransport = "http://opcfoundation.org/UA-Profile/Transport/uatcp-uasc-uabinary";

    private readonly UaServerOptions options;
    private readonly IReadOnlyList<string> hosts;
    private readonly int port;

    public EndpointList(UaServerOptions options, int port)
    {
        (this.options, this.port) = (options, port);
        hosts = options.HostNames.Count > 0 ? options.HostNames
            : options.ListenAddress.Equals(IPAddress.Any) || options.ListenAddress.Equals(IPAddress.IPv6Any) ? [Dns.GetHostName()]
            : [options.ListenAddress.ToString()];
    }

    /// <summary>Under the first of our names.</summary>
    public Uri Url => new(UrlFor(null));

    public IReadOnlyList<EndpointDescription> All(string? requestedUrl) =>
        [.. options.Endpoints.Select(endpoint => Describe(endpoint, UrlFor(requestedUrl)))];

    public GetEndpointsResponse GetEndpoints(GetEndpointsRequest request) =>
        new(request.ProfileUris.Count == 0 || request.ProfileUris.Contains(BinaryTransport) ? All(request.EndpointUrl) : []);

    public FindServersResponse FindServers(FindServersRequest request) =>
        new(request.ServerUris.Count == 0 || request.ServerUris.Contains(options.EffectiveApplicationUri) ? [DescribeApplication(UrlFor(request.EndpointUrl))] : []);

    /// <summary>The ways to prove who one is that a channel of this kind offers.</summary>
    public IReadOnlyList<UserTokenPolicy> TokenPolicies(SecurityPolicy policy)
    {
        // Without protection of its own, a channel still protects what proves the user, under the policy that most clients have.
        var tokenPolicy = policy.IsNone ? SecurityPolicy.Basic256Sha256 : policy;
        List<UserTokenPolicy> policies = [];
        if (options.AllowAnonymous)
        {
            policies.Add(new UserTokenPolicy("anonymous", UserTokenType.Anonymous, null, null, null));
        }

        if (options is { Users.HasPasswords: true, Certificate: not null })
        {
            policies.Add(new UserTokenPolicy($"password-{tokenPolicy.Name}", UserTokenType.UserName, null, null, tokenPolicy.Uri));
        }

        if (options is { Users.HasCertificates: true, Certificate: not null })
        {
            policies.Add(new UserTokenPolicy($"certificate-{tokenPolicy.Name}", UserTokenType.Certificate, null, null, tokenPolicy.Uri));
        }

        return policies;
    }

    private EndpointDescription Describe(ServerEndpoint endpoint, string url) => new(
        url,
        DescribeApplication(url),
        options.Certificate?.Chain.ToArray(),
        endpoint.Mode,
        endpoint.Policy.Uri,
        TokenPolicies(endpoint.Policy),
        BinaryTransport,
        (byte)SecurityPolicy.StrengthOf(endpoint.Policy, endpoint.Mode));

    private ApplicationDescription DescribeApplication(string url) =>
        new(options.EffectiveApplicationUri, options.ProductUri, new LocalizedText(options.ApplicationName), ApplicationType.Server, null, null, [url]);

    /// <summary>With the name that the client used, if it is one of ours: it can be reached under that.</summary>
    private string UrlFor(string? requested)
    {
        var host = Uri.TryCreate(requested, UriKind.Absolute, out var url)
            ? hosts.FirstOrDefault(name => string.Equals(name, url.Host.Trim('[', ']'), StringComparison.OrdinalIgnoreCase)) ?? hosts[0]
            : hosts[0];
        var literal = IPAddress.TryParse(host, out var address) && address.AddressFamily == System.Net.Sockets.AddressFamily.InterNetworkV6 ? $"[{host}]" : host;
        return $"opc.tcp://{literal}:{port}{options.Path}";
    }
}
