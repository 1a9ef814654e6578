using System.Security.Claims;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.OpenIdConnect;
using Microsoft.IdentityModel.Protocols.OpenIdConnect;
using WashBridge.Configuration;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>
/// Login by the site's identity provider: authorization code with PKCE (RFC 7636). The library checks signature, issuer, audience, time and nonce of the ID token;
/// here its claims become name and role, and what follows is a session like any other.
/// </summary>
internal static class ProviderLogin
{
    public const string BeginPath = "/login/provider";
    public const string BackPath = "/login/provider/back";
    public const string DonePath = "/login/done";

    /// <summary>Why the provider's user was not let in, for the login page.</summary>
    public const string FailedAddress = "/login?provider=failed";
    public const string NoRoleAddress = "/login?provider=no-role";

    private const int LongestName = 64;

    public static void Configure(OpenIdConnectOptions options, HttpConfiguration http, ProviderConfiguration provider)
    {
        options.SignInScheme = Schemes.Session;
        options.Authority = provider.Authority.AbsoluteUri;
        options.RequireHttpsMetadata = provider.Authority.Scheme == Uri.UriSchemeHttps;
        options.ClientId = provider.ClientId;
        options.ClientSecret = provider.Secret;
        options.ResponseType = OpenIdConnectResponseType.Code;

        // The answer comes as a redirect: its cookies can be lax, and nothing is posted here from another site.
        options.ResponseMode = OpenIdConnectResponseMode.Query;
        options.UsePkce = true;
        options.CallbackPath = BackPath;
        options.MapInboundClaims = false;
        options.SaveTokens = false;
        options.GetClaimsFromUserInfoEndpoint = true;
        options.ClaimActions.MapJsonKey(provider.RoleClaim, provider.RoleClaim);
        options.ClaimActions.MapJsonKey(provider.NameClaim, provider.NameClaim);
        options.TokenValidationParameters.NameClaimType = provider.NameClaim;
        options.TokenValidationParameters.RoleClaimType = provider.RoleClaim;
        options.Scope.Clear();
        foreach (var scope in provider.Scopes.Prepend("openid").Distinct())
        {
            options.Scope.Add(scope);
        }

        Narrow(options.CorrelationCookie, http);
        Narrow(options.NonceCookie, http);
        options.Events = new OpenIdConnectEvents
        {
            OnRedirectToIdentityProvider = context =>
            {
                if (context.Properties.Items.ContainsKey(OpenIdConnectParameterNames.Prompt))
                {
                    context.ProtocolMessage.Prompt = OpenIdConnectPrompt.Login;
                    context.ProtocolMessage.MaxAge = "0";
                }

                return Task.CompletedTask;
            },
            OnTicketReceived = context => ReceiveAsync(context, provider),
            OnRemoteFailure = context =>
            {
                AccessLog.ProviderRefused(Logger(context.HttpContext), context.Failure?.Message ?? "unknown");
                context.Response.Redirect(FailedAddress);
                context.HandleResponse();
                return Task.CompletedTask;
            },
        };
    }

    /// <summary>Name and role of a principal of the provider; null: no role of it is one here.</summary>
    public static (string Name, Role Role)? Read(ClaimsPrincipal principal, ProviderConfiguration provider)
    {
        var roles = principal.FindAll(provider.RoleClaim).Select(c => c.Value).Where(provider.Roles.ContainsKey).Select(v => provider.Roles[v]).ToList();
        var name = (principal.FindFirstValue(provider.NameClaim) ?? principal.FindFirstValue("preferred_username") ?? principal.FindFirstValue("sub") ?? "").Trim();
        return roles.Count == 0 || name.Length == 0 || name.Any(char.IsControl) ? null : (name.Length > LongestName ? name[..LongestName] : name, roles.Max());
    }

    private static Task ReceiveAsync(TicketReceivedContext context, ProviderConfiguration provider)
    {
        var services = context.HttpContext.RequestServices;
        if (Read(context.Principal!, provider) is not var (name, role))
        {
            return Refuse($"{context.Principal?.FindFirstValue("sub")} has no role here");
        }

        if (services.GetRequiredService<AccountBook>().Find(name) is not null)
        {
            return Refuse($"there is a local user '{name}', and records could not tell them apart");
        }

        var logger = Logger(context.HttpContext);
        AccessLog.LoggedIn(logger, name, context.HttpContext.Connection.RemoteIpAddress);
        context.Principal = SessionCookie.Ticket(services.GetRequiredService<SessionBook>().Begin(name, role));

        // A strict cookie is not sent along on a way that began at another site: a page of ours goes on.
        context.ReturnUri = $"{DonePath}?{SessionCookie.ReturnParameter}={Uri.EscapeDataString(LocalAddress.Or(context.ReturnUri))}";
        return Task.CompletedTask;

        Task Refuse(string reason)
        {
            AccessLog.ProviderRefused(Logger(context.HttpContext), reason);
            context.Response.Redirect(NoRoleAddress);
            context.HandleResponse();
            return Task.CompletedTask;
        }
    }

    private static void Narrow(CookieBuilder cookie, HttpConfiguration http)
    {
        cookie.SameSite = SameSiteMode.Lax;
        cookie.HttpOnly = true;
        cookie.SecurePolicy = http.IsSecure ? CookieSecurePolicy.Always : CookieSecurePolicy.None;
    }

    private static ILogger Logger(HttpContext context) => context.RequestServices.GetRequiredService<ILoggerFactory>().CreateLogger(typeof(ProviderLogin).FullName!);
}
