using System.Net;
using System.Reflection;
using System.Text;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using WashBridge.Configuration;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Web;
using WashBridge.Web.Api;

namespace WashBridge.Tests.Web;

/// <summary>Addresses, parameters and bodies that are meant to do harm, and more of them than anybody needs. What is claimed stands in <c>Web/SECURITY.md</c>.</summary>
public sealed class HostileInputTests
{
    private const string Scan = """{"washer": "north", "station": 1, "keg": "K-1"}""";

    [Theory]
    [InlineData("/../../etc/passwd")]
    [InlineData("/%2e%2e/%2e%2e/etc/passwd")]
    [InlineData("/..%2f..%2fetc%2fpasswd")]
    [InlineData("/pages/..%5c..%5cappsettings.json")]
    [InlineData("/_content/%2e%2e/%2e%2e/washbridge.dll")]
    [InlineData("/site.washdb")]
    [InlineData("/washbridge.deps.json")]
    [InlineData("/api/v1/kegs/keg?id=..%2f..%2fsite.washdb")]
    [InlineData("/api/v1/cycles/%2e%2e%2f%2e%2e%2fetc%2fpasswd")]
    [InlineData("/api/v1/kegs/keg?id=%00")]
    public async Task No_path_leads_out_of_what_is_served(string path)
    {
        await using var trial = await WebTrial.StartAsync();
        var answer = await RawRequest.SendAsync(trial, $"GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
        Assert.Matches("^HTTP/1.1 40[04] ", answer);
        Assert.DoesNotContain("root:", answer, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Text_that_means_something_to_a_database_or_a_page_is_only_text_in_every_parameter()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        string[] evil = ["' OR '1'='1", "1; DROP TABLE accounts; --", "\" UNION SELECT name, password FROM accounts --", "<script>alert(1)</script>", "%00", "{{7*7}}", new string('9', 60)];
        var tried = 0;
        foreach (var endpoint in trial.Endpoints.Where(e => e.RoutePattern.RawText!.StartsWith("/api/v1/", StringComparison.Ordinal) && e.Metadata.GetMetadata<HttpMethodMetadata>()!.HttpMethods.Contains("GET")))
        {
            var address = string.Join('/', endpoint.RoutePattern.PathSegments.Select(s => s.Parts[0] is RoutePatternLiteralPart literal ? literal.Content : "{id}"));
            var parameters = endpoint.Metadata.GetMetadata<MethodInfo>() is { } handler ? ApiFilter.ParametersOf(handler) : [];
            foreach (var text in evil.Select(Uri.EscapeDataString))
            {
                foreach (var target in parameters.Select(p => $"/{address}?{p}={text}".Replace("{id}", "x", StringComparison.Ordinal)).Append("/" + address.Replace("{id}", text, StringComparison.Ordinal)))
                {
                    using var answer = await client.GetAsync(target, WebTrial.Cancellation);
                    var body = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
                    tried++;
                    Assert.True(answer.StatusCode is HttpStatusCode.OK or HttpStatusCode.BadRequest or HttpStatusCode.NotFound, $"{target}: {answer.StatusCode}");
                    Assert.DoesNotContain("<script>", body, StringComparison.Ordinal);
                    Assert.DoesNotContain("pbkdf2", body, StringComparison.Ordinal);
                    Assert.DoesNotContain("   at ", body, StringComparison.Ordinal);
                }
            }
        }

        Assert.True(tried > 300, $"only {tried} were tried");
        Assert.Empty(trial.Accounts.All);
    }

    [Fact]
    public async Task Bodies_and_headers_beyond_the_limits_are_refused()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var order = await client.PostAsync("/scans", new StringContent(new string(' ', Listening.LongestOrder + 1) + Scan, Encoding.UTF8, "application/json"), WebTrial.Cancellation);
        Assert.True(order.StatusCode is HttpStatusCode.RequestEntityTooLarge or HttpStatusCode.BadRequest, $"{order.StatusCode}");
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-scanned"] }));
        Assert.Matches("^HTTP/1.1 4(13|00) ", await RawRequest.SendAsync(trial, $"POST /login HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {Listening.LongestBody + 1}\r\n\r\n"));
        Assert.StartsWith("HTTP/1.1 431 ", await RawRequest.SendAsync(trial, $"GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: {new string('x', 20_000)}\r\n\r\n"), StringComparison.Ordinal);
        Assert.StartsWith("HTTP/1.1 431 ", await RawRequest.SendAsync(trial, $"GET / HTTP/1.1\r\nHost: localhost\r\n{string.Concat(Enumerable.Range(0, 80).Select(i => $"X-{i}: y\r\n"))}\r\n"), StringComparison.Ordinal);
        Assert.StartsWith("HTTP/1.1 414 ", await RawRequest.SendAsync(trial, $"GET /?{new string('x', 9_000)} HTTP/1.1\r\nHost: localhost\r\n\r\n"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_fails_inside_shows_nothing_of_the_inside()
    {
        await using var trial = await WebTrial.StartAsync(more: s => s.AddSingleton(FailingHistorian.Over((IHistorian)s.Last(d => d.ServiceType == typeof(IHistorian)).ImplementationInstance!)));
        using var client = trial.Client();
        foreach (var page in new[] { "/api/v1/records", "/records" })
        {
            using var answer = await client.GetAsync(page, WebTrial.Cancellation);
            var text = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
            Assert.Equal(HttpStatusCode.InternalServerError, answer.StatusCode);
            Assert.DoesNotContain("secret", text, StringComparison.Ordinal);
            Assert.DoesNotContain("Exception", text, StringComparison.Ordinal);
            Assert.DoesNotContain("   at ", text, StringComparison.Ordinal);
            Assert.DoesNotContain(".cs:", text, StringComparison.Ordinal);
            Assert.True(answer.Headers.Contains("Content-Security-Policy"));
        }
    }

    [Fact]
    public async Task Too_many_requests_are_put_off()
    {
        await using var trial = await WebTrial.StartWithLoginAsync(h => h with { Rates = new RequestRates(3, 3, 1000) });
        using var browser = trial.Client();
        using var program = trial.Program(Role.Viewer);
        for (var i = 0; i < 3; i++)
        {
            using var answer = await browser.LogInAsync("nobody", WebTrial.Password);
            Assert.Equal(HttpStatusCode.Unauthorized, answer.StatusCode);
            Assert.Equal(HttpStatusCode.OK, await program.StatusAsync("/api/v1/washers"));
        }

        using var late = await browser.LogInAsync("nobody", WebTrial.Password);
        Assert.Equal(HttpStatusCode.TooManyRequests, late.StatusCode);
        Assert.NotNull(late.Headers.RetryAfter);
        Assert.Equal(HttpStatusCode.TooManyRequests, await program.StatusAsync("/api/v1/washers"));
        await browser.ReadAsync("/login");
    }

    /// <summary>A historian that cannot read records.</summary>
    private class FailingHistorian : DispatchProxy
    {
        private IHistorian _real = null!;

        public static IHistorian Over(IHistorian real)
        {
            var proxy = Create<IHistorian, FailingHistorian>();
            ((FailingHistorian)(object)proxy)._real = real;
            return proxy;
        }

        protected override object? Invoke(MethodInfo? targetMethod, object?[]? args) =>
            targetMethod!.Name is nameof(IHistorianReader.ReadRecords) or "get_RecordHead" ? throw new InvalidOperationException("a secret of the inside") : targetMethod.Invoke(_real, args);
    }
}
