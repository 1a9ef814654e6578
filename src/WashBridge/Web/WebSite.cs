using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using WashBridge.Configuration;
using WashBridge.Orders;
using WashBridge.Web.Accounts;
using WashBridge.Web.Charts;
using WashBridge.Web.Live;
using WashBridge.Web.Pages;
using WashBridge.Web.Pages.Alarms;
using WashBridge.Web.Pages.Data;
using WashBridge.Web.Pages.Reports;
using WashBridge.Web.Trends;
using WashBridge.Web.Pages.Cycles;
using WashBridge.Web.Pages.Kegs;

namespace WashBridge.Web;

/// <summary>
/// The pages. They are rendered by the server for every request and work without script; a script refreshes their parts while the log grows, another draws charts.
/// So all state is in the address and in the historian, and nothing is kept for a reader between two requests.
/// </summary>
internal static class WebSite
{
    /// <summary>Behind the store's name: the folder with the keys of forms and logins.</summary>
    public const string KeysSuffix = ".keys";

    private static void AddServices(IServiceCollection services, Site site)
    {
        services.AddRouting();
        services.AddRazorComponents();
        services.AddLocalization();
        services.AddHttpContextAccessor();
        services.AddAntiforgery(o =>
        {
            o.Cookie.Name = "washbridge-form";
            o.Cookie.SameSite = SameSiteMode.Strict;
            o.FormFieldName = "form-token";
        });
        services.AddDataProtection().SetApplicationName("washbridge").PersistKeysToFileSystem(Keys(site));
        AccessServices.Add(services);
        services.AddSingleton<RecordDesk>();
        services.AddSingleton<SiteZone>();
        services.AddSingleton<LiveBoard>();
        services.AddHostedService(provider => provider.GetRequiredService<LiveBoard>());
        services.AddSingleton<LiveStream>();
        services.AddScoped<AlarmDesk>();
        services.AddSingleton<StoreWatch>();
        services.AddHostedService(provider => provider.GetRequiredService<StoreWatch>());
        services.AddSingleton<SignalCharts>();
        TrendServices.Add(services);
        services.AddSingleton<WashWords>();
        services.AddScoped<KegDesk>();
    }

    /// <summary>Adds pages and what people tell to a host that has the <see cref="Site"/>, the historian, its signal, the bridge and the time.</summary>
    public static IHostBuilder AddPages(this IHostBuilder host, Site site, Action<KestrelServerOptions> listen) => host.ConfigureWebHost(web => web
        .UseSetting(WebHostDefaults.ApplicationKey, typeof(WebSite).Assembly.GetName().Name)
        .UseContentRoot(AppContext.BaseDirectory)
        .UseStaticWebAssets()
        .UseKestrel(listen)
        .ConfigureServices(services => AddServices(services, site))
        .Configure(Use));

    private static void Use(IApplicationBuilder app)
    {
        app.Use((context, next) => SecurityHeaders.AddAsync(context, next));
        app.UseStatusCodePagesWithReExecute("/nothing-here", createScopeForStatusCodePages: true);
        app.UseRouting();
        app.UseAuthentication();
        app.UseAuthorization();
        app.UseAntiforgery();
        app.UseEndpoints(routes =>
        {
            Endpoints.Map(routes);
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
