using System.Net;
using System.Net.Http.Headers;
using System.Text;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Web;

namespace WashBridge.Tests.Web;

/// <summary>What another site could have the browser of somebody who is logged in do. What is claimed stands in <c>Web/SECURITY.md</c>.</summary>
public sealed class ForeignSiteTests
{
    private const string Scan = """{"washer": "north", "station": 1, "keg": "K-1"}""";

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
        var (own, foreign) = (PageForm.Token(await browser.ReadAsync("/")), PageForm.Token(await other.ReadAsync("/")));
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
        Assert.StartsWith($"HTTP/1.1 {status} ", await RawRequest.SendAsync(trial, $"GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"), StringComparison.Ordinal);
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
}
