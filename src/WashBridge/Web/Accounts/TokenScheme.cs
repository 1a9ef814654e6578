using System.Security.Claims;
using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Options;

namespace WashBridge.Web.Accounts;

/// <summary>Tokens of programs, in the header alone: an address ends in logs and histories (RFC 6750, 5.3).</summary>
internal sealed class TokenScheme(IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory loggers, UrlEncoder encoder, TokenBook tokens, AddressGuard addresses)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, loggers, encoder)
{
    private const string Bearer = "Bearer ";

    public static bool IsIn(HttpRequest request) => request.Headers.Authorization.Count > 0;

    protected override Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        var address = Context.Connection.RemoteIpAddress;
        var header = Request.Headers.Authorization;
        if (header is [{ } text] && text.StartsWith(Bearer, StringComparison.OrdinalIgnoreCase) && !addresses.IsLockedOut(address) && tokens.Find(text[Bearer.Length..].Trim()) is { } token)
        {
            addresses.Succeeded(address);
            return Task.FromResult(AuthenticateResult.Success(new AuthenticationTicket(Identities.Make(Schemes.Token, token.Name, token.Role, new Claim(ClaimTypes.NameIdentifier, token.Name)), Schemes.Token)));
        }

        AccessLog.TokenRefused(Logger, address);
        var span = addresses.Failed(address);
        if (span > TimeSpan.Zero)
        {
            AccessLog.AddressLockedOut(Logger, address, span);
        }

        return Task.FromResult(AuthenticateResult.Fail("unknown, expired or revoked"));
    }

    protected override Task HandleChallengeAsync(AuthenticationProperties properties)
    {
        Response.StatusCode = StatusCodes.Status401Unauthorized;
        Response.Headers.WWWAuthenticate = "Bearer error=\"invalid_token\"";
        return Task.CompletedTask;
    }
}
