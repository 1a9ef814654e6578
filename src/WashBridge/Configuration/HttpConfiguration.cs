using System.Net;
using System.Security.Cryptography.X509Certificates;
using WashBridge.Core.Records;
using WashBridge.Web.Accounts;

namespace WashBridge.Configuration;

/// <summary>Where pages are served, and who may use them. On anything but loopback it has a certificate and a login.</summary>
/// <param name="Port">1 to 65,535.</param>
internal sealed record HttpConfiguration(int Port)
{
    public IPAddress Listen { get; init; } = IPAddress.Loopback;

    /// <summary>The server's certificate with its key, then those of the authorities between it and a root; empty: no TLS.</summary>
    public IReadOnlyList<X509Certificate2> Certificates { get; init; } = [];

    /// <summary>False on loopback only: everybody at the machine may do all.</summary>
    public bool NeedsLogin { get; init; }

    /// <summary>By which people reach the pages besides those of loopback. Any other name in a request is refused.</summary>
    public IReadOnlyList<string> HostNames { get; init; } = [];

    public SessionLimits Session { get; init; } = SessionLimits.Standard;

    /// <summary>Fewest characters of a password.</summary>
    public int ShortestPassword { get; init; } = PasswordRules.StandardLeast;

    /// <summary>How many people a version of a recipe needs, 1 or 2.</summary>
    public int Approvals { get; init; } = 1;

    /// <summary>Null: local users only.</summary>
    public ProviderConfiguration? OpenIdConnect { get; init; }

    public RequestRates Rates { get; init; } = RequestRates.Standard;

    public bool IsSecure => Certificates.Count > 0;
}

/// <summary>How many requests are taken a minute.</summary>
/// <param name="Login">From an address to the login.</param>
/// <param name="Api">With a token, or from an address.</param>
/// <param name="Pages">From an address, files and refreshing included.</param>
internal sealed record RequestRates(int Login, int Api, int Pages)
{
    public static RequestRates Standard { get; } = new(20, 600, 6000);
}

/// <summary>The site's identity provider (OpenID Connect Core 1.0, authorization code flow).</summary>
internal sealed record ProviderConfiguration
{
    public required Uri Authority { get; init; }

    public required string ClientId { get; init; }

    public string? Secret { get; init; }

    /// <summary>The claim whose values give the role.</summary>
    public required string RoleClaim { get; init; }

    /// <summary>The claim with the name that records show.</summary>
    public required string NameClaim { get; init; }

    /// <summary>Who has several gets the highest; who has none is not let in.</summary>
    public required IReadOnlyDictionary<string, Role> Roles { get; init; }

    /// <summary>Asked for besides <c>openid</c>.</summary>
    public IReadOnlyList<string> Scopes { get; init; } = ["profile"];
}
