using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>The endpoint that fits the options, out of those that the server offers.</summary>
/// <param name="Address">Host and port as configured, path as advertised.</param>
/// <param name="Token">Which of the endpoint's kinds of user is used.</param>
/// <param name="TokenPolicy">Protects the password or makes the signature of the user.</param>
/// <param name="Offered">All endpoints, to be compared with what the session tells.</param>
internal sealed record ChosenEndpoint(
    EndpointDescription Description,
    Uri Address,
    SecurityPolicy Policy,
    UserTokenPolicy Token,
    SecurityPolicy TokenPolicy,
    IReadOnlyList<EndpointDescription> Offered)
{
    private const string BinaryTransport = "http://opcfoundation.org/UA-Profile/Transport/uatcp-uasc-uabinary";

    /// <exception cref="UaException">Nothing fits; the message lists what is offered.</exception>
    public static ChosenEndpoint Choose(IReadOnlyList<EndpointDescription> offered, UaClientOptions options)
    {
        var reachable = offered.Where(e => string.IsNullOrEmpty(e.TransportProfileUri) || e.TransportProfileUri == BinaryTransport).ToList();
        var fitting = reachable
            .Where(e => e.SecurityMode == options.Mode && SecurityPolicy.Find(e.SecurityPolicyUri) is { } policy && (options.Policy is null || policy == options.Policy))
            .OrderByDescending(e => SecurityPolicy.Find(e.SecurityPolicyUri)!.Strength)
            .ToList();
        if (fitting.Count == 0)
        {
            throw new UaException(
                options.Policy is null ? StatusCodes.BadSecurityModeRejected : StatusCodes.BadSecurityPolicyRejected,
                $"{options.Endpoint} does not offer {options.Policy?.Name ?? "a known policy"} with {options.Mode}; it offers {List(reachable)}");
        }

        foreach (var endpoint in fitting)
        {
            var policy = SecurityPolicy.Find(endpoint.SecurityPolicyUri)!;
            if (UserTokenChoice.Choose(endpoint, policy, options.Identity) is var (token, tokenPolicy))
            {
                CheckServer(endpoint, options);
                return new ChosenEndpoint(endpoint, AddressOf(endpoint, options.Endpoint), policy, token, tokenPolicy, offered);
            }
        }

        throw new UaException(
            StatusCodes.BadIdentityTokenRejected,
            $"{options.Endpoint} with {fitting[0].SecurityMode} does not accept {options.Identity}; it accepts {UserTokenChoice.List(fitting[0])}");
    }

    private static string List(List<EndpointDescription> endpoints) => endpoints.Count == 0
        ? "no endpoint for opc.tcp at all"
        : string.Join(", ", endpoints.Select(e => $"{e.SecurityPolicyUri?.Split('#')[^1]} with {e.SecurityMode}").Distinct());

    private static void CheckServer(EndpointDescription endpoint, UaClientOptions options)
    {
        if (options.ServerUri is { } expected && endpoint.Server.ApplicationUri != expected)
        {
            throw new UaException(
                StatusCodes.BadServerUriInvalid,
                $"{options.Endpoint} is the server \"{endpoint.Server.ApplicationUri}\"; the configuration expects \"{expected}\"");
        }
    }

    /// <summary>Servers often advertise a name that only their own network knows.</summary>
    private static Uri AddressOf(EndpointDescription endpoint, Uri configured) =>
        Uri.TryCreate(endpoint.EndpointUrl, UriKind.Absolute, out var advertised) && advertised.AbsolutePath.Length > 1
            ? new UriBuilder(configured) { Path = advertised.AbsolutePath }.Uri
            : configured;
}
