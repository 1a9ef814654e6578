using WashBridge.Core.Records;

namespace WashBridge.Tests.Web;

public sealed class HeaderTests
{
    /// <summary>Content Security Policy Level 3 (W3C). A picture runs no script, and those of style sheets are written into them.</summary>
    private static readonly Dictionary<string, string> Policy = new()
    {
        ["default-src"] = "'none'", ["script-src"] = "'self'", ["style-src"] = "'self'", ["font-src"] = "'self'", ["connect-src"] = "'self'", ["img-src"] = "'self' data:",
        ["form-action"] = "'self'", ["base-uri"] = "'self'", ["frame-ancestors"] = "'none'",
    };

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Every_answer_has_a_browser_trust_nothing_but_this_server_errors_too(bool isOverTls)
    {
        using var authority = isOverTls ? new Authority() : null;
        await using var trial = await WebTrial.StartWithLoginAsync(tls: authority);
        using var browser = await trial.LoggedInAsync(Role.Operator);
        foreach (var (page, status) in new[]
        {
            ("/", 200), ("/nothing", 404), ("/users", 403), ("/site.css", 200), ("/api/v1/washers", 200), ("/api/v1/nothing", 404), ("/api/v1/cycles?limit=x", 400), ("/logout", 404), ("/login", 200),
        })
        {
            using var answer = await browser.GetAsync(page, WebTrial.Cancellation);
            Assert.Equal((page, status), (page, (int)answer.StatusCode));
            Check(answer, isOverTls);
        }

        using var stranger = trial.Client();
        using var sent = await stranger.GetAsync("/", WebTrial.Cancellation);
        Check(sent, isOverTls);
        using var wrong = await stranger.LogInAsync("nobody", WebTrial.Password);
        Check(wrong, isOverTls);
        using var refused = await stranger.GetAsync("/api/v1/washers", WebTrial.Cancellation);
        Check(refused, isOverTls);
        Assert.Equal("application/problem+json", refused.Content.Headers.ContentType?.MediaType);
    }

    /// <summary>Strict-Transport-Security is for TLS alone: otherwise anybody on the way could have put it in (RFC 6797, 7.2).</summary>
    private static void Check(HttpResponseMessage answer, bool isOverTls)
    {
        var policy = One(answer, "Content-Security-Policy").Split("; ").Select(d => d.Split(' ', 2)).ToDictionary(d => d[0], d => d[1]);
        Assert.Equal(Policy.OrderBy(d => d.Key, StringComparer.Ordinal), policy.OrderBy(d => d.Key, StringComparer.Ordinal));
        Assert.Equal("DENY", One(answer, "X-Frame-Options"));
        Assert.Equal("nosniff", One(answer, "X-Content-Type-Options"));
        Assert.Equal("same-origin", One(answer, "Referrer-Policy"));
        Assert.Equal("same-origin", One(answer, "Cross-Origin-Opener-Policy"));
        Assert.Equal("same-origin", One(answer, "Cross-Origin-Resource-Policy"));
        Assert.Equal("camera=(self), geolocation=(), microphone=()", One(answer, "Permissions-Policy"));
        Assert.NotNull(answer.Headers.CacheControl);
        Assert.False(answer.Headers.Contains("Server"));
        Assert.Equal(isOverTls ? ["max-age=31536000"] : [], answer.Headers.TryGetValues("Strict-Transport-Security", out var strict) ? strict : []);
    }

    private static string One(HttpResponseMessage answer, string header) => Assert.Single(answer.Headers.GetValues(header));
}
