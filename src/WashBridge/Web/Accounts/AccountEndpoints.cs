using Microsoft.AspNetCore.Authentication;
using Microsoft.IdentityModel.Protocols.OpenIdConnect;
using WashBridge.Configuration;

namespace WashBridge.Web.Accounts;

/// <summary>What logging in and out needs besides its pages.</summary>
internal static class AccountEndpoints
{
    public const string LogoutPath = "/logout";

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPost(LogoutPath, LogOutAsync).AllowAnonymous();
        routes.MapGet(ProviderLogin.BeginPath, BeginAsync).AllowAnonymous();
    }

    private static async Task LogOutAsync(HttpContext context)
    {
        if (context.User.Identity is { AuthenticationType: Schemes.Session, Name: { } name })
        {
            var logger = context.RequestServices.GetRequiredService<ILogger<Session>>();
            AccessLog.LoggedOut(logger, name);
            await context.SignOutAsync(Schemes.Session);
        }

        context.Response.Headers["Clear-Site-Data"] = "\"cache\"";
        context.Response.Redirect(SessionCookie.LoginPath);
    }

    /// <summary>To the identity provider; <c>again</c> has it ask even who is logged in there.</summary>
    private static Task BeginAsync(HttpContext context, string? to, bool? again)
    {
        if (context.RequestServices.GetRequiredService<Site>().Http?.OpenIdConnect is null)
        {
            context.Response.StatusCode = StatusCodes.Status404NotFound;
            return Task.CompletedTask;
        }

        var properties = new AuthenticationProperties { RedirectUri = LocalAddress.Or(to) };
        if (again == true)
        {
            properties.Items[OpenIdConnectParameterNames.Prompt] = OpenIdConnectPrompt.Login;
        }

        return context.ChallengeAsync(Schemes.OpenIdConnect, properties);
    }
}
