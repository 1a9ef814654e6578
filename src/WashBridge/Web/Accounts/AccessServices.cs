using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authorization;

namespace WashBridge.Web.Accounts;

/// <summary>Who may do what, as services.</summary>
internal static class AccessServices
{
    public static void Add(IServiceCollection services)
    {
        services.AddAuthentication(Schemes.Open).AddScheme<AuthenticationSchemeOptions, OpenScheme>(Schemes.Open, null);
        services.AddAuthorization(Policies.Add);
        services.AddSingleton<IAuthorizationHandler, LeastRoleHandler>();
        services.AddScoped(provider => CurrentUser.Of(provider.GetRequiredService<IHttpContextAccessor>().HttpContext));
        services.AddScoped<Acting>();
        services.AddCascadingValue(provider => provider.GetRequiredService<CurrentUser>());
    }
}
