using System.Net;
using System.Net.Security;
using System.Text;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Configuration;
using WashBridge.Core.Records;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Web.Accounts;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Web;

/// <summary>The pages of a small site on a free loopback port, asked by real HTTP, with a time that only the test moves.</summary>
internal sealed class WebTrial : IAsyncDisposable
{
    public const string Password = "otter lamp gravel nine";

    private readonly TemporaryFolder _folder = new();
    private IHost _host = null!;
    private Authority? _authority;

    private WebTrial()
    {
    }

    public static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    public static Author Tester { get; } = new("T. Ester", Role.Administrator, Means.Command);

    public FakeTimeProvider Time { get; } = new(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));

    public IHistorian Historian { get; private set; } = null!;

    public Site Site { get; private set; } = null!;

    public Uri Address => new($"{(Site.Http!.IsSecure ? "https" : "http")}://localhost:{Site.Http.Port}");

    public IServiceProvider Services => _host.Services;

    public AccountBook Accounts => Services.GetRequiredService<AccountBook>();

    public TokenBook Tokens => Services.GetRequiredService<TokenBook>();

    public IReadOnlyList<RouteEndpoint> Endpoints => [.. Services.GetServices<EndpointDataSource>().SelectMany(s => s.Endpoints).OfType<RouteEndpoint>()];

    /// <summary>Where people must log in.</summary>
    /// <param name="tls">Who vouches for the server; null: without TLS.</param>
    public static Task<WebTrial> StartWithLoginAsync(Func<HttpConfiguration, HttpConfiguration>? change = null, Action<IServiceCollection>? more = null, Authority? tls = null) =>
        StartAsync(change, login: true, more, tls);

    /// <param name="site">Makes another site of the small one.</param>
    public static async Task<WebTrial> StartAsync(Func<HttpConfiguration, HttpConfiguration>? change = null, bool login = false, Action<IServiceCollection>? more = null, Authority? tls = null, Func<Site, Site>? site = null)
    {
        var trial = new WebTrial { _authority = tls };
        var http = new HttpConfiguration(DemoPages.Choose(0)) { NeedsLogin = login, Certificates = tls?.Chain ?? [], Rates = new RequestRates(10_000, 10_000, 100_000) };
        trial.Site = MakeSite(trial._folder["site.washdb"], change?.Invoke(http) ?? http);
        trial.Site = site?.Invoke(trial.Site) ?? trial.Site;
        trial.Historian = HistorianFile.Open(trial.Site.Store.Path, new HistorianOptions(), trial.Time);
        var signal = new HistorianSignal();
        var bridge = new Bridge(trial.Site, trial.Historian, signal, [], trial.Time, NullLoggerFactory.Instance, bootId: null);
        trial._host = DemoPages.Make(trial.Site, trial.Historian, signal, bridge, trial.Time, services =>
        {
            services.AddSingleton(new Hashing(PasswordHash.LeastIterations));
            more?.Invoke(services);
        });
        await trial._host.StartAsync(Cancellation);
        return trial;
    }

    /// <summary>A browser that follows no redirect by itself.</summary>
    public Browser Client() => new(Address, _authority?.Trusting);

    /// <summary>A program with a token.</summary>
    public HttpClient Program(Role role, string name = "scanner-1")
    {
        var client = new HttpClient { BaseAddress = Address };
        client.DefaultRequestHeaders.Authorization = new("Bearer", Tokens.Make(Tester, name, role, TimeSpan.FromDays(1)));
        return client;
    }

    /// <summary>A user who has changed the first password already.</summary>
    public void AddUser(string name, Role role, string password = Password)
    {
        Accounts.Add(Tester, name, role, "first " + password);
        Accounts.ChangePassword(Tester, name, password);
    }

    public async Task<Browser> LoggedInAsync(Role role, string? name = null)
    {
        name ??= $"{role} One";
        AddUser(name, role);
        var browser = Client();
        using var answer = await browser.LogInAsync(name, Password);
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        return browser;
    }

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

/// <summary>What a browser does: keeps cookies, fills in forms, says where it is.</summary>
internal sealed class Browser : HttpClient
{
    private readonly SslClientAuthenticationOptions? _tls;

    /// <param name="address">Of the server.</param>
    /// <param name="tls">Whom it trusts; null: whom this machine trusts.</param>
    public Browser(Uri address, SslClientAuthenticationOptions? tls = null)
        : this(address, new CookieContainer(), tls)
    {
    }

    private Browser(Uri address, CookieContainer cookies, SslClientAuthenticationOptions? tls)
        : base(new SocketsHttpHandler { AllowAutoRedirect = false, CookieContainer = cookies, SslOptions = tls ?? new() })
    {
        BaseAddress = address;
        Cookies = cookies;
        _tls = tls;
    }

    public CookieContainer Cookies { get; }

    /// <summary>Another browser with the same cookies, such as a thief's.</summary>
    public Browser Copy()
    {
        var cookies = new CookieContainer();
        cookies.Add(Cookies.GetCookies(BaseAddress!));
        return new Browser(BaseAddress!, cookies, _tls);
    }

    public async Task<string> ReadAsync(string page)
    {
        using var answer = await GetAsync(page, WebTrial.Cancellation);
        var text = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
        Assert.True(answer.IsSuccessStatusCode, $"{page}: {answer.StatusCode} {text}");
        return text;
    }

    public async Task<HttpResponseMessage> LogInAsync(string name, string password, string page = "/login") =>
        await SendFormAsync(page, "login", ("name", name), ("password", password));

    /// <summary>Loads a page and sends its form of this name with these fields.</summary>
    public async Task<HttpResponseMessage> SendFormAsync(string page, string form, params (string Name, string Value)[] fields)
    {
        var filled = new PageForm(await ReadAsync(page), form);
        foreach (var (name, value) in fields)
        {
            filled[name] = value;
        }

        return await filled.SendAsync(this, page);
    }
}

internal static class Requests
{
    public static async Task<HttpStatusCode> StatusAsync(this HttpClient client, string page)
    {
        using var answer = await client.GetAsync(page, WebTrial.Cancellation);
        return answer.StatusCode;
    }

    public static Task<HttpResponseMessage> PostJsonAsync(this HttpClient client, string page, string json) =>
        client.PostAsync(page, new StringContent(json, Encoding.UTF8, "application/json"), WebTrial.Cancellation);
}
