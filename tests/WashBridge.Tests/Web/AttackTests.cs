using System.Net;
using System.Net.Http.Headers;
using System.Reflection;
using System.Text;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Web;
using WashBridge.Web.Accounts;

namespace WashBridge.Tests.Web;

/// <summary>Attacks, tried over HTTP. What they show stands in <c>Web/SECURITY.md</c>.</summary>
public sealed class AttackTests
{
    private const string Scan = """{"washer": "north", "station": 1, "keg": "K-1"}""";

    [Fact]
    public async Task An_altered_or_made_up_cookie_is_no_session()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(Role.Administrator);
        var name = SessionCookie.NameFor(trial.Site.Http!);
        var good = browser.Cookies.GetCookies(trial.Address)[name]!.Value;
        var changed = good.ToCharArray();
        changed[good.Length / 2] = changed[good.Length / 2] == 'A' ? 'B' : 'A';
        foreach (var value in new[] { new string(changed), good[..^4], "", "x", Convert.ToBase64String(Encoding.UTF8.GetBytes("administrator")), good + good })
        {
            using var thief = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false }) { BaseAddress = trial.Address };
            thief.DefaultRequestHeaders.Add("Cookie", $"{name}={value}");
            Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(thief, "/users"));
        }

        await browser.ReadAsync("/users");
    }

    [Theory]
    [InlineData("logout")]
    [InlineData("role")]
    [InlineData("disable")]
    [InlineData("reset")]
    public async Task A_stolen_cookie_is_worth_nothing_once_its_session_is_ended(string how)
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.AddUser("Boss", Role.Administrator);
        using var browser = await trial.LoggedInAsync(Role.Qa, "K. Wash");
        using var thief = browser.Copy();
        await thief.ReadAsync("/");
        switch (how)
        {
            case "logout":
                using (await browser.PostAsync("/logout", new FormUrlEncodedContent([KeyValuePair.Create(WebSite.FormToken, Token(await browser.ReadAsync("/")))]), WebTrial.Cancellation))
                {
                    break;
                }

            case "role":
                trial.Accounts.SetRole(WebTrial.Tester, "K. Wash", Role.Viewer);
                break;
            case "disable":
                trial.Accounts.Disable(WebTrial.Tester, "K. Wash");
                break;
            default:
                trial.Accounts.Reset(WebTrial.Tester, "K. Wash", "another long password");
                break;
        }

        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(thief, "/"));
    }

    [Fact]
    public async Task A_request_from_another_site_changes_nothing_with_and_without_login()
    {
        foreach (var login in new[] { false, true })
        {
            await using var trial = await WebTrial.StartAsync(login: login);
            using var browser = login ? await trial.LoggedInAsync(Role.Administrator) : trial.Client();
            foreach (var (header, value) in new[] { ("Origin", "https://evil.example"), ("Origin", "null"), ("Sec-Fetch-Site", "cross-site"), ("Sec-Fetch-Site", "same-site") })
            {
                foreach (var page in new[] { "/scans", "/maintenance", "/alarm-orders", "/users", "/logout", "/login" })
                {
                    using var request = new HttpRequestMessage(HttpMethod.Post, page) { Content = new StringContent(Scan, Encoding.UTF8, "application/json") };
                    request.Headers.Add(header, value);
                    using var answer = await browser.SendAsync(request, WebTrial.Cancellation);
                    Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
                }
            }

            Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-scanned"] }));
            await browser.ReadAsync("/");
        }
    }

    [Fact]
    public async Task What_comes_with_a_cookie_needs_the_token_of_a_page_of_the_same_session()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(Role.Administrator);
        using var other = await trial.LoggedInAsync(Role.Administrator, "Other");
        var (own, foreign) = (Token(await browser.ReadAsync("/")), Token(await other.ReadAsync("/")));
        Assert.Equal(HttpStatusCode.BadRequest, await ScanAsync(browser, null));
        Assert.Equal(HttpStatusCode.BadRequest, await ScanAsync(browser, foreign));
        Assert.Equal(HttpStatusCode.BadRequest, await ScanAsync(browser, own[..^6] + "AAAAAA"));
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-scanned"] }));
        Assert.Equal(HttpStatusCode.Created, await ScanAsync(browser, own));

        foreach (var page in new[] { "/users", "/users/tokens", "/account" })
        {
            using var answer = await browser.PostAsync(page, new FormUrlEncodedContent([KeyValuePair.Create("_handler", "add"), KeyValuePair.Create("user", "Evil"), KeyValuePair.Create("what", "add")]), WebTrial.Cancellation);
            Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        }

        Assert.Null(trial.Accounts.Find("Evil"));
    }

    [Theory]
    [InlineData("text/plain")]
    [InlineData("application/x-www-form-urlencoded")]
    [InlineData("multipart/form-data; boundary=x")]
    public async Task JSON_that_a_foreign_form_could_send_is_not_taken(string type)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var content = new StringContent(Scan);
        content.Headers.ContentType = MediaTypeHeaderValue.Parse(type);
        using var answer = await client.PostAsync("/scans", content, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.UnsupportedMediaType, answer.StatusCode);
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-scanned"] }));
    }

    [Fact]
    public async Task Nobody_signs_for_somebody_else()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var program = trial.Program(Role.Operator, "T. Oken");
        using var mine = await PostAsync(program, "/maintenance", """{"washer": "north", "component": "drain-valve@2", "work": "replaced", "by": "K. Wash"}""");
        Assert.Equal(HttpStatusCode.BadRequest, mine.StatusCode);
        Assert.Contains("by: found 'K. Wash'", await mine.Content.ReadAsStringAsync(WebTrial.Cancellation), StringComparison.Ordinal);
        using var own = await PostAsync(program, "/maintenance", """{"washer": "north", "component": "drain-valve@2", "work": "replaced"}""");
        Assert.Equal(HttpStatusCode.Created, own.StatusCode);
        Assert.Equal("T. Oken", Assert.IsType<MaintenanceRecorded>(Assert.Single(trial.Historian.ReadEvents(new EventQuery { Kinds = ["maintenance-recorded"] }))).By);
    }

    [Fact]
    public async Task A_viewer_cannot_send_a_form_even_to_a_page_that_he_may_see()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(Role.Viewer);
        var token = Token(await browser.ReadAsync("/"));
        using var answer = await browser.PostAsync("/", new FormUrlEncodedContent([KeyValuePair.Create(WebSite.FormToken, token), KeyValuePair.Create("_handler", "any")]), WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
    }

    [Fact]
    public async Task A_token_counts_in_its_header_alone_and_not_when_it_is_revoked_or_over()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        var token = trial.Tokens.Make(WebTrial.Tester, "script", Role.Administrator, TimeSpan.FromDays(1));
        using var client = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false }) { BaseAddress = trial.Address };
        foreach (var name in new[] { "token", "access_token", "authorization", "api_key" })
        {
            Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(client, $"/api/v1/washers?{name}={token}"));
            using var request = new HttpRequestMessage(HttpMethod.Get, "/api/v1/washers");
            request.Headers.Add("Cookie", $"{name}={token}");
            using var answer = await client.SendAsync(request, WebTrial.Cancellation);
            Assert.Equal(HttpStatusCode.Unauthorized, answer.StatusCode);
        }

        client.DefaultRequestHeaders.Authorization = new("Bearer", token);
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(client, "/api/v1/washers"));
        client.DefaultRequestHeaders.Authorization = new("Bearer", token[..^1] + (token[^1] == 'A' ? 'B' : 'A'));
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(client, "/api/v1/washers"));
        client.DefaultRequestHeaders.Authorization = new("Bearer", token);
        trial.Time.Advance(TimeSpan.FromDays(1));
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(client, "/api/v1/washers"));

        client.DefaultRequestHeaders.Authorization = new("Bearer", trial.Tokens.Make(WebTrial.Tester, "second", Role.Viewer, TimeSpan.FromDays(1)));
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(client, "/api/v1/washers"));
        trial.Tokens.Revoke(WebTrial.Tester, "second");
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(client, "/api/v1/washers"));
    }

    [Fact]
    public async Task The_file_of_accounts_holds_no_token_no_session_and_no_password_and_is_for_its_user_alone()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(Role.Viewer);
        var token = trial.Tokens.Make(WebTrial.Tester, "script", Role.Viewer, TimeSpan.FromDays(1));
        var path = trial.Site.Store.Path + AccountsFile.Suffix;
        await using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        using var reader = new StreamReader(file, Encoding.Latin1);
        var text = await reader.ReadToEndAsync(WebTrial.Cancellation);
        Assert.Contains("pbkdf2-", text, StringComparison.Ordinal);
        Assert.DoesNotContain(token, text, StringComparison.Ordinal);
        Assert.DoesNotContain(token[TokenBook.Prefix.Length..], text, StringComparison.Ordinal);
        Assert.DoesNotContain(WebTrial.Password, text, StringComparison.Ordinal);
        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(path));
        }
    }

    [Theory]
    [InlineData("/../../etc/passwd")]
    [InlineData("/%2e%2e/%2e%2e/etc/passwd")]
    [InlineData("/..%2f..%2fetc%2fpasswd")]
    [InlineData("/pages/..%5c..%5cappsettings.json")]
    [InlineData("/_content/%2e%2e/%2e%2e/washbridge.dll")]
    [InlineData("/site.washdb")]
    [InlineData("/washbridge.deps.json")]
    [InlineData("/api/v1/kegs/..%2f..%2fsite.washdb")]
    [InlineData("/api/v1/cycles/%2e%2e%2f%2e%2e%2fetc%2fpasswd")]
    [InlineData("/api/v1/kegs/%00")]
    public async Task No_path_leads_out_of_what_is_served(string path)
    {
        await using var trial = await WebTrial.StartAsync();
        var answer = await RawAsync(trial, $"GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
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
            var parameters = endpoint.Metadata.GetMetadata<MethodInfo>()!.GetParameters().Where(p => p.ParameterType == typeof(string) && p.Name != "id").Select(p => p.Name!).ToList();
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
        Assert.Matches("^HTTP/1.1 4(13|00) ", await RawAsync(trial, $"POST /login HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {Listening.LongestBody + 1}\r\n\r\n"));
        Assert.StartsWith("HTTP/1.1 431 ", await RawAsync(trial, $"GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: {new string('x', 20_000)}\r\n\r\n"), StringComparison.Ordinal);
        Assert.StartsWith("HTTP/1.1 431 ", await RawAsync(trial, $"GET / HTTP/1.1\r\nHost: localhost\r\n{string.Concat(Enumerable.Range(0, 80).Select(i => $"X-{i}: y\r\n"))}\r\n"), StringComparison.Ordinal);
        Assert.StartsWith("HTTP/1.1 414 ", await RawAsync(trial, $"GET /?{new string('x', 9_000)} HTTP/1.1\r\nHost: localhost\r\n\r\n"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("https://evil.example/")]
    [InlineData("//evil.example/")]
    [InlineData("/\\evil.example/")]
    [InlineData("\\\\evil.example")]
    [InlineData("/\t/evil.example")]
    [InlineData("javascript:alert(1)")]
    [InlineData("evil")]
    public async Task A_login_leads_to_no_other_site(string to)
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.AddUser("K. Wash", Role.Viewer);
        using var browser = trial.Client();
        using var answer = await browser.LogInAsync("K. Wash", WebTrial.Password, $"/login?to={Uri.EscapeDataString(to)}");
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.Equal("/", new Uri(trial.Address, answer.Headers.Location!).PathAndQuery);
        Assert.Equal(trial.Address.Host, new Uri(trial.Address, answer.Headers.Location!).Host);
        var done = await browser.ReadAsync($"/login/done?to={Uri.EscapeDataString(to)}");
        Assert.Contains("content=\"0; url=/\"", done, StringComparison.Ordinal);
        Assert.Contains("<a class=\"button primary\" href=\"/\">", done, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("evil.example", 400)]
    [InlineData("127.0.0.1.evil.example", 400)]
    [InlineData("localhost.evil.example", 400)]
    [InlineData("", 400)]
    [InlineData("localhost", 200)]
    [InlineData("127.0.0.1:8480", 200)]
    [InlineData("[::1]", 200)]
    [InlineData("washers.example", 200)]
    public async Task A_name_that_is_not_this_servers_is_refused(string host, int status)
    {
        await using var trial = await WebTrial.StartAsync(h => h with { HostNames = ["washers.example"] });
        Assert.StartsWith($"HTTP/1.1 {status} ", await RawAsync(trial, $"GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Every_answer_says_what_a_browser_may_do_with_it_errors_too()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(Role.Operator);
        foreach (var (page, status) in new[] { ("/", 200), ("/nothing", 404), ("/users", 403), ("/site.css", 200), ("/api/v1/washers", 200), ("/api/v1/nothing", 404), ("/api/v1/cycles?limit=x", 400), ("/logout", 404), ("/login", 200) })
        {
            using var answer = await browser.GetAsync(page, WebTrial.Cancellation);
            Assert.Equal((page, status), (page, (int)answer.StatusCode));
            Check(answer);
        }

        using var stranger = trial.Client();
        using var sent = await stranger.GetAsync("/", WebTrial.Cancellation);
        Check(sent);
        using var refused = await stranger.GetAsync("/api/v1/washers", WebTrial.Cancellation);
        Check(refused);
        Assert.Equal("application/problem+json", refused.Content.Headers.ContentType?.MediaType);

        static void Check(HttpResponseMessage answer)
        {
            var policy = Assert.Single(answer.Headers.GetValues("Content-Security-Policy"));
            Assert.Contains("frame-ancestors 'none'", policy, StringComparison.Ordinal);
            Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
            Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
            Assert.Equal("DENY", Assert.Single(answer.Headers.GetValues("X-Frame-Options")));
            Assert.Equal("nosniff", Assert.Single(answer.Headers.GetValues("X-Content-Type-Options")));
            Assert.False(answer.Headers.Contains("Server"));
        }
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
            Assert.Equal(HttpStatusCode.OK, await StatusAsync(program, "/api/v1/washers"));
        }

        using var late = await browser.LogInAsync("nobody", WebTrial.Password);
        Assert.Equal(HttpStatusCode.TooManyRequests, late.StatusCode);
        Assert.NotNull(late.Headers.RetryAfter);
        Assert.Equal(HttpStatusCode.TooManyRequests, await StatusAsync(program, "/api/v1/washers"));
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

    private static string Token(string html)
    {
        var match = System.Text.RegularExpressions.Regex.Match(html, $"name=\"{WebSite.FormToken}\" value=\"([^\"]+)\"");
        Assert.True(match.Success, "the page has no form");
        return WebUtility.HtmlDecode(match.Groups[1].Value);
    }

    private static async Task<HttpStatusCode> ScanAsync(HttpClient client, string? token)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, "/scans") { Content = new StringContent(Scan, Encoding.UTF8, "application/json") };
        if (token is not null)
        {
            request.Headers.Add(WebSite.FormTokenHeader, token);
        }

        using var answer = await client.SendAsync(request, WebTrial.Cancellation);
        return answer.StatusCode;
    }

    private static Task<HttpResponseMessage> PostAsync(HttpClient client, string page, string json) => client.PostAsync(page, new StringContent(json, Encoding.UTF8, "application/json"), WebTrial.Cancellation);

    private static async Task<HttpStatusCode> StatusAsync(HttpClient client, string page)
    {
        using var answer = await client.GetAsync(page, WebTrial.Cancellation);
        return answer.StatusCode;
    }

    /// <summary>What no client library sends.</summary>
    private static async Task<string> RawAsync(WebTrial trial, string request)
    {
        using var socket = new System.Net.Sockets.TcpClient();
        await socket.ConnectAsync(IPAddress.Loopback, trial.Site.Http!.Port, WebTrial.Cancellation);
        await using var stream = socket.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request), WebTrial.Cancellation);
        using var reader = new StreamReader(stream, Encoding.UTF8);
        try
        {
            return await reader.ReadToEndAsync(WebTrial.Cancellation);
        }
        catch (IOException)
        {
            return "";
        }
    }

}
