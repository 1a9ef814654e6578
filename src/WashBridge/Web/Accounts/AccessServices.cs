using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Authorization;
using WashBridge.Configuration;

namespace WashBridge.Web.Accounts;

/// <summary>Who may do what, as services.</summary>
internal static class AccessServices
{
    public static void Add(IServiceCollection services, Site site)
    {
        var http = site.Http!;
        services.AddSingleton(http.Session);
        services.AddSingleton(_ => AccountsFile.Open(site.Store.Path));
        services.AddSingleton(new PasswordRules(http.ShortestPassword, [site.Id, site.Title]));
        services.TryAddHashing();
        services.AddSingleton<ChangeBook>();
        services.AddSingleton(provider => new AccountBook(
            provider.GetRequiredService<AccountsFile>(),
            provider.GetRequiredService<ChangeBook>(),
            provider.GetRequiredService<PasswordRules>(),
            provider.GetRequiredService<TimeProvider>(),
            provider.GetRequiredService<Hashing>().Iterations));
        services.AddSingleton<SessionBook>();
        services.AddSingleton<TokenBook>();
        services.AddSingleton<AddressGuard>();
        services.AddSingleton<Logins>();
        services.AddSingleton<AccountRecords>();
        services.AddHostedService(provider => provider.GetRequiredService<AccountRecords>());
        AddSchemes(services, http);
        services.AddAuthorization(Policies.Add);
        services.AddSingleton<IAuthorizationHandler, LeastRoleHandler>();
        services.AddScoped(provider => CurrentUser.Of(provider.GetRequiredService<IHttpContextAccessor>().HttpContext));
        services.AddScoped<Acting>();
        services.AddScoped<Signing>();
        services.AddCascadingValue(provider => provider.GetRequiredService<CurrentUser>());
    }

    private static void AddSchemes(IServiceCollection services, HttpConfiguration http)
    {
        var schemes = services.AddAuthentication(Schemes.Any)
            .AddPolicyScheme(Schemes.Any, null, o => o.ForwardDefaultSelector = context => TokenScheme.IsIn(context.Request) ? Schemes.Token : http.NeedsLogin ? Schemes.Session : Schemes.Open)
            .AddScheme<AuthenticationSchemeOptions, OpenScheme>(Schemes.Open, null)
            .AddScheme<AuthenticationSchemeOptions, TokenScheme>(Schemes.Token, null)
            .AddCookie(Schemes.Session, _ => { });
        services.AddOptions<CookieAuthenticationOptions>(Schemes.Session).Configure<TimeProvider>((o, time) => SessionCookie.Configure(o, http, time));
        if (http.OpenIdConnect is { } provider)
        {
            schemes.AddOpenIdConnect(Schemes.OpenIdConnect, o => ProviderLogin.Configure(o, http, provider));
        }
    }

    private static void TryAddHashing(this IServiceCollection services)
    {
        if (!services.Any(s => s.ServiceType == typeof(Hashing)))
        {
            services.AddSingleton(Hashing.Standard);
        }
    }
}

/// <summary>How much work a password costs.</summary>
internal sealed record Hashing(int Iterations)
{
    public static Hashing Standard { get; } = new(PasswordHash.StandardIterations);
}
