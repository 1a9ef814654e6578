using System.Net;
using System.Text.Json;
using WashBridge.Configuration;
using WashBridge.Core.Records;
using WashBridge.Demo;
using WashBridge.Tests.Web;
using WashBridge.Web.Accounts;

namespace WashBridge.EndToEnd.Tests.Web;

/// <summary>Login by an identity provider of another maker (oidc-provider of npm).</summary>
public sealed class ProviderLoginTests
{
    [Fact]
    public async Task A_user_of_the_provider_gets_name_and_highest_role_from_its_claims()
    {
        await using var site = await SiteWithProvider.StartAsync();
        await site.IsAsync("""{"sub": "17", "name": "K. Wash", "groups": ["line", "lab"]}""");
        using var browser = site.Trial.Client();
        var page = await site.LogInAsync(browser, "/account");
        Assert.Contains("url=/account", page, StringComparison.Ordinal);
        var account = await browser.ReadAsync("/account");
        Assert.Contains("K. Wash", account, StringComparison.Ordinal);
        Assert.Contains("<dd>QA</dd>", account, StringComparison.Ordinal);
        Assert.Contains("kept by your company account", account, StringComparison.Ordinal);
        using var users = await browser.GetAsync("/users", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Forbidden, users.StatusCode);
    }

    [Fact]
    public async Task The_provider_is_asked_with_PKCE_state_and_nonce_for_a_code()
    {
        await using var site = await SiteWithProvider.StartAsync();
        using var browser = site.Trial.Client();
        await site.LogInAsync(browser, "/");
        using var seen = JsonDocument.Parse(await site.Peer.AskAsync("""{"seen": true}"""));
        var asked = seen.RootElement.GetProperty("seen");
        Assert.Equal("code", asked.GetProperty("response_type").GetString());
        Assert.Equal("S256", asked.GetProperty("code_challenge_method").GetString());
        Assert.NotEqual("", asked.GetProperty("nonce").GetString());
        Assert.NotEqual("", asked.GetProperty("state").GetString());
        Assert.Equal("openid profile", asked.GetProperty("scope").GetString());
    }

    [Theory]
    [InlineData("""{"sub": "18", "name": "N. Obody", "groups": ["canteen"]}""")]
    [InlineData("""{"sub": "18", "name": "N. Obody"}""")]
    [InlineData("""{"sub": "18", "name": "Local User", "groups": ["lab"]}""")]
    public async Task Who_has_no_role_here_or_the_name_of_a_local_user_is_not_let_in(string account)
    {
        await using var site = await SiteWithProvider.StartAsync();
        site.Trial.AddUser("Local User", Role.Administrator);
        await site.IsAsync(account);
        using var browser = site.Trial.Client();
        var page = await site.LogInAsync(browser, "/");
        Assert.Contains("has no role in WashBridge", page, StringComparison.Ordinal);
        using var now = await browser.GetAsync("/", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Redirect, now.StatusCode);
    }

    /// <summary>Otherwise somebody could have another person's browser logged in as himself.</summary>
    [Fact]
    public async Task A_code_that_another_browser_asked_for_is_not_taken_nor_one_that_was_used()
    {
        await using var site = await SiteWithProvider.StartAsync();
        using var attacker = site.Trial.Client();
        var back = await site.ToCallbackAsync(attacker, "/");
        using var victim = site.Trial.Client();
        using var refused = await victim.GetAsync(back, WebTrial.Cancellation);
        Assert.Equal(ProviderLogin.FailedAddress, refused.Headers.Location!.OriginalString);

        using var taken = await attacker.GetAsync(back, WebTrial.Cancellation);
        Assert.StartsWith(ProviderLogin.DonePath, new Uri(site.Trial.Address, taken.Headers.Location!).AbsolutePath, StringComparison.Ordinal);
        using var again = await attacker.GetAsync(back, WebTrial.Cancellation);
        Assert.Equal(ProviderLogin.FailedAddress, again.Headers.Location!.OriginalString);
    }

    [Fact]
    public async Task A_login_by_the_provider_leads_to_no_other_site()
    {
        await using var site = await SiteWithProvider.StartAsync();
        using var browser = site.Trial.Client();
        Assert.DoesNotContain("evil", await site.LogInAsync(browser, "https://evil.example/"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task To_sign_the_provider_is_asked_to_ask_again()
    {
        await using var site = await SiteWithProvider.StartAsync();
        using var browser = site.Trial.Client();
        await site.LogInAsync(browser, "/");
        using var again = await browser.GetAsync(ProviderLogin.BeginPath + "?again=true&to=/", WebTrial.Cancellation);
        Assert.Contains("prompt=login", again.Headers.Location!.Query, StringComparison.Ordinal);
        Assert.Contains("max_age=0", again.Headers.Location.Query, StringComparison.Ordinal);
    }

    private sealed class SiteWithProvider : IAsyncDisposable
    {
        public required WebTrial Trial { get; init; }

        public required PeerProcess Peer { get; init; }

        public static async Task<SiteWithProvider> StartAsync()
        {
            var port = DemoPages.Choose(0);
            var peer = await PeerProcess.ServeAsync("node", "oidc_provider.mjs", $$"""{"redirect": "http://localhost:{{port}}{{ProviderLogin.BackPath}}"}""");
            var trial = await WebTrial.StartWithLoginAsync(h => h with
            {
                Port = port,
                OpenIdConnect = new ProviderConfiguration
                {
                    Authority = new Uri($"http://127.0.0.1:{peer.Port}"),
                    ClientId = "washbridge",
                    Secret = "a-secret-for-tests",
                    NameClaim = "name",
                    RoleClaim = "groups",
                    Roles = new Dictionary<string, Role> { ["line"] = Role.Operator, ["lab"] = Role.Qa },
                },
            });
            var site = new SiteWithProvider { Trial = trial, Peer = peer };
            await site.IsAsync("""{"sub": "17", "name": "K. Wash", "groups": ["line"]}""");
            return site;
        }

        public async Task IsAsync(string account) => Assert.Equal("""{"ok":true}""", await Peer.AskAsync($$"""{"account": {{account}}}"""));

        /// <summary>The address, with the code, at which the provider sends the browser back.</summary>
        public async Task<Uri> ToCallbackAsync(Browser browser, string to)
        {
            var next = new Uri(Trial.Address, $"{ProviderLogin.BeginPath}?to={Uri.EscapeDataString(to)}");
            for (var i = 0; i < 10; i++)
            {
                using var answer = await browser.GetAsync(next, WebTrial.Cancellation);
                Assert.True(answer.Headers.Location is not null, $"{next}: {answer.StatusCode} {await answer.Content.ReadAsStringAsync(WebTrial.Cancellation)}\n{Peer.Output}");
                next = new Uri(next, answer.Headers.Location);
                if (next.AbsolutePath == ProviderLogin.BackPath)
                {
                    return next;
                }
            }

            throw new InvalidOperationException($"the provider sends the browser about: {next}");
        }

        /// <summary>Goes the whole way and gives the page that it ends on.</summary>
        public async Task<string> LogInAsync(Browser browser, string to)
        {
            using var answer = await browser.GetAsync(await ToCallbackAsync(browser, to), WebTrial.Cancellation);
            Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
            return await browser.ReadAsync(new Uri(Trial.Address, answer.Headers.Location!).PathAndQuery);
        }

        public async ValueTask DisposeAsync()
        {
            await Trial.DisposeAsync();
            await Peer.DisposeAsync();
        }
    }
}
