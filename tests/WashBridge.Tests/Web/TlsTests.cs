using System.Net;
using System.Security.Authentication;
using WashBridge.Core.Records;
using WashBridge.Web.Accounts;

namespace WashBridge.Tests.Web;

/// <summary>The pages over a real TLS connection, with certificates that are checked.</summary>
public sealed class TlsTests
{
    [Fact]
    public async Task A_client_that_knows_only_the_root_reaches_the_pages_by_the_name_in_the_certificate_and_by_no_other()
    {
        using var authority = new Authority();
        await using var trial = await WebTrial.StartWithLoginAsync(tls: authority);
        using var browser = trial.Client();
        await browser.ReadAsync("/login");

        using var stranger = new HttpClient { BaseAddress = trial.Address };
        var untrusted = await Assert.ThrowsAsync<HttpRequestException>(() => stranger.GetAsync("/login", WebTrial.Cancellation));
        Assert.IsType<AuthenticationException>(untrusted.InnerException);
        var unnamed = await Assert.ThrowsAsync<HttpRequestException>(() => browser.GetAsync(new UriBuilder(trial.Address) { Host = "127.0.0.1" }.Uri, WebTrial.Cancellation));
        Assert.IsType<AuthenticationException>(unnamed.InnerException);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    public async Task A_login_over_either_version_of_HTTP_leads_on_by_TLS(int version)
    {
        using var authority = new Authority();
        await using var trial = await WebTrial.StartWithLoginAsync(tls: authority);
        trial.AddUser("K. Wash", Role.Operator);
        using var browser = trial.Client();
        browser.DefaultRequestVersion = new Version(version, version == 1 ? 1 : 0);
        browser.DefaultVersionPolicy = HttpVersionPolicy.RequestVersionExact;
        using var sent = await browser.GetAsync("/users", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Redirect, sent.StatusCode);
        Assert.Equal(Uri.UriSchemeHttps, new Uri(trial.Address, sent.Headers.Location!).Scheme);
        using var wrong = await browser.LogInAsync("K. Wash", "otter lamp gravel ten!");
        using var right = await browser.LogInAsync("K. Wash", WebTrial.Password);
        Assert.Equal((HttpStatusCode.Unauthorized, HttpStatusCode.Redirect), (wrong.StatusCode, right.StatusCode));
        Assert.Equal(Uri.UriSchemeHttps, new Uri(trial.Address, right.Headers.Location!).Scheme);

        using var page = await browser.GetAsync("/", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.OK, page.StatusCode);
        Assert.All(new[] { sent, wrong, right, page }, a => Assert.Equal(version, a.Version.Major));
    }

    /// <summary>The prefix has a browser refuse such a cookie from any other host, path or connection (RFC 6265bis, 4.1.3.2).</summary>
    [Fact]
    public async Task Every_cookie_is_bound_to_this_host_and_to_TLS_and_kept_from_scripts_and_other_sites()
    {
        using var authority = new Authority();
        await using var trial = await WebTrial.StartWithLoginAsync(tls: authority);
        trial.AddUser("K. Wash", Role.Viewer);
        using var browser = trial.Client();
        using var form = await browser.GetAsync("/login", WebTrial.Cancellation);
        using var answer = await browser.LogInAsync("K. Wash", WebTrial.Password);
        var cookies = form.Headers.GetValues("Set-Cookie").Concat(answer.Headers.GetValues("Set-Cookie")).ToList();
        Assert.Contains(cookies, c => c.StartsWith("__Host-washbridge-form=", StringComparison.Ordinal));
        Assert.Contains(cookies, c => c.StartsWith(SessionCookie.NameFor(trial.Site.Http!) + "=", StringComparison.Ordinal));
        foreach (var cookie in cookies)
        {
            var parts = cookie.ToLowerInvariant().Split(';', StringSplitOptions.TrimEntries);
            Assert.StartsWith("__host-", parts[0], StringComparison.Ordinal);
            Assert.Equal(["httponly", "path=/", "samesite=strict", "secure"], parts[1..].Order(StringComparer.Ordinal));
        }
    }

    /// <summary>A redirect would answer a request that has gone over the network readable already, its cookie with it.</summary>
    [Fact]
    public async Task Plain_HTTP_gets_no_answer_at_all()
    {
        using var authority = new Authority();
        await using var trial = await WebTrial.StartWithLoginAsync(tls: authority);
        var name = SessionCookie.NameFor(trial.Site.Http!);
        Assert.Equal("", await RawRequest.SendAsync(trial, $"GET /login HTTP/1.1\r\nHost: localhost\r\nCookie: {name}=x\r\nConnection: close\r\n\r\n"));
        using var browser = trial.Client();
        await browser.ReadAsync("/login");
    }
}
