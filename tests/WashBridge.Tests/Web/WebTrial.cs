using System.Net;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Configuration;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pipeline;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Web;

/// <summary>The pages of a small site on a free loopback port, with a time that only the test moves.</summary>
internal sealed class WebTrial : IAsyncDisposable
{
    private readonly TemporaryFolder _folder = new();
    private IHost _host = null!;

    private WebTrial()
    {
    }

    public static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    public FakeTimeProvider Time { get; } = new(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));

    public IHistorian Historian { get; private set; } = null!;

    public Site Site { get; private set; } = null!;

    public Uri Address => new($"http://127.0.0.1:{Site.Http!.Port}");

    public IServiceProvider Services => _host.Services;

    public IReadOnlyList<RouteEndpoint> Endpoints => [.. Services.GetServices<EndpointDataSource>().SelectMany(s => s.Endpoints).OfType<RouteEndpoint>()];

    public static async Task<WebTrial> StartAsync()
    {
        var trial = new WebTrial();
        trial.Site = MakeSite(trial._folder["site.washdb"], new HttpConfiguration(DemoPages.Choose(0)));
        trial.Historian = HistorianFile.Open(trial.Site.Store.Path, new HistorianOptions(), trial.Time);
        var signal = new HistorianSignal();
        var bridge = new Bridge(trial.Site, trial.Historian, signal, [], trial.Time, NullLoggerFactory.Instance, bootId: null);
        trial._host = DemoPages.Make(trial.Site, trial.Site.Http!.Port, trial.Historian, signal, bridge, trial.Time);
        await trial._host.StartAsync(Cancellation);
        return trial;
    }

    /// <summary>A browser that follows no redirect by itself.</summary>
    public HttpClient Client(bool redirect = false) => new(new SocketsHttpHandler { AllowAutoRedirect = redirect, UseCookies = true, CookieContainer = new CookieContainer() }) { BaseAddress = Address };

    public async ValueTask DisposeAsync()
    {
        await _host.StopAsync(CancellationToken.None);
        _host.Dispose();
        Historian.Dispose();
        _folder.Dispose();
    }

    /// <summary>The demonstration's site: two washers, which nobody connects to here.</summary>
    private static Site MakeSite(string store, HttpConfiguration http)
    {
        var site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
        return site with { Store = site.Store with { Path = store }, Http = http };
    }
}
