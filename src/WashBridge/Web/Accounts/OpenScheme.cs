using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Options;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>Where the site asks for no login: whoever reaches the loopback interface may do all, and has no name.</summary>
internal sealed class OpenScheme(IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory loggers, UrlEncoder encoder)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, loggers, encoder)
{
    protected override Task<AuthenticateResult> HandleAuthenticateAsync() =>
        Task.FromResult(AuthenticateResult.Success(new AuthenticationTicket(Identities.Make(Schemes.Open, null, Role.Administrator), Schemes.Open)));
}
