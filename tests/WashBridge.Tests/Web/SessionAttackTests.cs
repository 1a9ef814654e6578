using System.Net;
using System.Text;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Web;
using WashBridge.Web.Accounts;

namespace WashBridge.Tests.Web;

/// <summary>Attempts to be somebody else: by another session, another token, another name. What is claimed stands in <c>Web/SECURITY.md</c>.</summary>
public sealed class SessionAttackTests
{
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
            Assert.Equal(HttpStatusCode.Redirect, await thief.StatusAsync("/users"));
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
                using (await browser.PostAsync("/logout", new FormUrlEncodedContent([KeyValuePair.Create(WebSite.FormToken, PageForm.Token(await browser.ReadAsync("/")))]), WebTrial.Cancellation))
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

        Assert.Equal(HttpStatusCode.Redirect, await thief.StatusAsync("/"));
    }

    [Fact]
    public async Task A_token_counts_in_its_header_alone_and_not_when_it_is_revoked_or_over()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        var token = trial.Tokens.Make(WebTrial.Tester, "script", Role.Administrator, TimeSpan.FromDays(1));
        using var client = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false }) { BaseAddress = trial.Address };
        foreach (var name in new[] { "token", "access_token", "authorization", "api_key" })
        {
            Assert.Equal(HttpStatusCode.Unauthorized, await client.StatusAsync($"/api/v1/washers?{name}={token}"));
            using var request = new HttpRequestMessage(HttpMethod.Get, "/api/v1/washers");
            request.Headers.Add("Cookie", $"{name}={token}");
            using var answer = await client.SendAsync(request, WebTrial.Cancellation);
            Assert.Equal(HttpStatusCode.Unauthorized, answer.StatusCode);
        }

        client.DefaultRequestHeaders.Authorization = new("Bearer", token);
        Assert.Equal(HttpStatusCode.OK, await client.StatusAsync("/api/v1/washers"));
        client.DefaultRequestHeaders.Authorization = new("Bearer", token[..^1] + (token[^1] == 'A' ? 'B' : 'A'));
        Assert.Equal(HttpStatusCode.Unauthorized, await client.StatusAsync("/api/v1/washers"));
        client.DefaultRequestHeaders.Authorization = new("Bearer", token);
        trial.Time.Advance(TimeSpan.FromDays(1));
        Assert.Equal(HttpStatusCode.Unauthorized, await client.StatusAsync("/api/v1/washers"));

        client.DefaultRequestHeaders.Authorization = new("Bearer", trial.Tokens.Make(WebTrial.Tester, "second", Role.Viewer, TimeSpan.FromDays(1)));
        Assert.Equal(HttpStatusCode.OK, await client.StatusAsync("/api/v1/washers"));
        trial.Tokens.Revoke(WebTrial.Tester, "second");
        Assert.Equal(HttpStatusCode.Unauthorized, await client.StatusAsync("/api/v1/washers"));
    }

    [Fact]
    public async Task Nobody_signs_for_somebody_else()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var program = trial.Program(Role.Operator, "T. Oken");
        using var mine = await program.PostJsonAsync("/maintenance", """{"washer": "north", "component": "drain-valve@2", "work": "replaced", "by": "K. Wash"}""");
        Assert.Equal(HttpStatusCode.BadRequest, mine.StatusCode);
        Assert.Contains("by: found 'K. Wash'", await mine.Content.ReadAsStringAsync(WebTrial.Cancellation), StringComparison.Ordinal);
        using var own = await program.PostJsonAsync("/maintenance", """{"washer": "north", "component": "drain-valve@2", "work": "replaced"}""");
        Assert.Equal(HttpStatusCode.Created, own.StatusCode);
        Assert.Equal("T. Oken", Assert.IsType<MaintenanceRecorded>(Assert.Single(trial.Historian.ReadEvents(new EventQuery { Kinds = ["maintenance-recorded"] }))).By);
    }

    [Fact]
    public async Task A_viewer_cannot_send_a_form_even_to_a_page_that_he_may_see()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(Role.Viewer);
        var token = PageForm.Token(await browser.ReadAsync("/"));
        using var answer = await browser.PostAsync("/", new FormUrlEncodedContent([KeyValuePair.Create(WebSite.FormToken, token), KeyValuePair.Create("_handler", "any")]), WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
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
}
