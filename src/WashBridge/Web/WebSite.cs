using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Extensions.DependencyInjection.Extensions;
using WashBridge.Configuration;
using WashBridge.Orders;
using WashBridge.Pairing;
using WashBridge.Recipes;
using WashBridge.Telemetry;
using WashBridge.Web.Accounts;
using WashBridge.Web.Api;
using WashBridge.Web.Charts;
using WashBridge.Web.Health;
using WashBridge.Web.Live;
using WashBridge.Web.Pages;
using WashBridge.Web.Pages.Alarms;
using WashBridge.Web.Pages.Data;
using WashBridge.Web.Pages.Recipes;
using WashBridge.Web.Pages.Reports;
using WashBridge.Web.Trends;
using WashBridge.Web.Pages.Cycles;
using WashBridge.Web.Pages.Kegs;

namespace WashBridge.Web;

/// <summary>
/// The pages. They are rendered by the server for every request and work without script; a script refreshes their parts while the log grows, another draws charts.
/// So all state is in the address and in the historian, and nothing is kept for a reader between two requests but that he is logged in.
/// </summary>
internal static class WebSite
{
    /// <summary>Behind the store's name: the folder with the keys of forms and logins.</summary>
    public const string KeysSuffix = ".keys";

    /// <summary>The field of a form, and the header of a request, that shows that it comes from a page of ours.</summary>
    public const string FormToken = "form-token";
    public const string FormTokenHeader = "Form-Token";

    private static void AddServices(IServiceCollection services, Site site)
    {
        var http = site.Http!;
        services.AddRouting();
        services.AddRazorComponents();
        services.AddLocalization();
        services.AddHttpContextAccessor();
        services.AddProblemDetails();
        services.AddHostFiltering(o =>
        {
            o.AllowedHosts = [.. Listening.HostNames(http)];
            o.AllowEmptyHosts = false;
            o.IncludeFailureMessage = false;
        });
        services.AddRateLimiter(o => Rates.Configure(o, http.Rates));
        services.AddAntiforgery(o =>
        {
            o.Cookie.Name = http.IsSecure ? "__Host-washbridge-form" : "washbridge-form";
            o.Cookie.Path = "/";
            o.Cookie.SameSite = SameSiteMode.Strict;
            o.Cookie.SecurePolicy = http.IsSecure ? CookieSecurePolicy.Always : CookieSecurePolicy.None;
            o.FormFieldName = FormToken;
            o.HeaderName = FormTokenHeader;
            o.SuppressXFrameOptionsHeader = true;
        });
        services.AddDataProtection().SetApplicationName("washbridge").PersistKeysToFileSystem(Keys(site));
        services.AddSingleton(new SecurityHeaders(http));
        AccessServices.Add(services, site);
        ApiDocument.Add(services);
        HealthEndpoints.Add(services, site);
        services.TryAddSingleton(new ReadingRole());
        services.AddSingleton<RecordDesk>();
        services.AddSingleton<SiteZone>();
        services.AddSingleton<LiveBoard>();
        services.AddHostedService(provider => provider.GetRequiredService<LiveBoard>());
        services.AddSingleton<LiveStream>();
        services.AddScoped<AlarmDesk>();
        services.AddSingleton<StoreWatch>();
        services.AddHostedService(provider => provider.GetRequiredService<StoreWatch>());
        services.AddScoped<RecipeDesk>();
        services.AddSingleton<RejudgeJobs>();
        services.AddHostedService(provider => provider.GetRequiredService<RejudgeJobs>());
        services.AddSingleton<SignalCharts>();
        TrendServices.Add(services);
        services.AddSingleton<WashWords>();
        services.AddScoped<KegDesk>();
        services.AddSingleton<ReleaseRuns>();
        services.AddHostedService(provider => provider.GetRequiredService<ReleaseRuns>());
    }

    /// <summary>Adds pages and what people tell to a host that has the <see cref="Site"/>, the historian, its signal, the bridge and the time.</summary>
    public static IHostBuilder AddPages(this IHostBuilder host, Site site) => host.ConfigureWebHost(web => web
        .UseSetting(WebHostDefaults.ApplicationKey, typeof(WebSite).Assembly.GetName().Name)
        .UseContentRoot(AppContext.BaseDirectory)
        .UseStaticWebAssets()
        .UseKestrel(server => Listening.Apply(server, site.Http!))
        .ConfigureServices(services => AddServices(services, site))
        .Configure(Use));

    /// <summary>The order matters: what guards comes before what it guards, and answers to what it refused pass all that is outside of it.</summary>
    private static void Use(IApplicationBuilder app)
    {
        app.Use(app.ApplicationServices.GetRequiredService<SecurityHeaders>().AddAsync);
        app.UseHostFiltering();
        Failures.Use(app);
        app.UseRouting();
        app.Use(OriginCheck.CheckAsync);
        app.UseAuthentication();
        app.UseRateLimiter();
        app.UseAuthorization();
        app.Use(PasswordFirst.CheckAsync);
        app.UseAntiforgery();
        app.Use(CookieGuard.CheckAsync);
        app.UseEndpoints(routes =>
        {
            Endpoints.Map(routes.MapGroup("").RequireAuthorization(Policies.Operate).WithMetadata(new RequestSizeLimitAttribute(Listening.LongestOrder)));
            ApiEndpoints.Map(routes);
            ApiDocument.Map(routes);
            HealthEndpoints.Map(routes);
            PairEndpoint.Map(routes);
            if (routes.ServiceProvider.GetRequiredService<Site>().Telemetry.Metrics)
            {
                routes.MapPrometheusScrapingEndpoint(TelemetryServices.MetricsPath).RequireAuthorization(Policies.View).WithMetadata(new HttpMethodMetadata([HttpMethods.Get]));
            }

            AccountEndpoints.Map(routes);
            RecipeFile.Map(routes);
            routes.MapStaticAssets().AllowAnonymous();
            routes.MapGet(LiveStream.Address, (HttpContext context, LiveStream stream) => stream.SendAsync(context));
            ChartEndpoints.Map(routes);
            FigureEndpoints.Map(routes);
            ReportFiles.Map(routes);
            CycleChart.Map(routes);
            routes.MapRazorComponents<Root>();
        });
    }

    /// <summary>The keys of forms and logins lie beside the store, for the service's user alone: they outlive a restart, and a copy of the store does not carry them.</summary>
    private static DirectoryInfo Keys(Site site)
    {
        var path = site.Store.Path + KeysSuffix;
        return OperatingSystem.IsWindows() ? Directory.CreateDirectory(path) : Directory.CreateDirectory(path, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
    }
}
