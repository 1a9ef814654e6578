using System.Net;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Web.Accounts;

namespace WashBridge.Tests.Web;

public sealed class LoginTests
{
    private const string WrongPassword = "otter lamp gravel ten!";

    [Fact]
    public async Task Who_is_not_logged_in_is_sent_to_the_login_and_from_there_to_where_it_was_going()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.AddUser("K. Wash", Role.Viewer);
        using var browser = trial.Client();
        using var first = await browser.GetAsync("/alarms?open=true", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Redirect, first.StatusCode);
        Assert.Equal("/login?to=%2Falarms%3Fopen%3Dtrue", first.Headers.Location!.OriginalString);
        using var second = await browser.LogInAsync("K. Wash", WebTrial.Password, first.Headers.Location.OriginalString);
        Assert.Equal("/alarms?open=true", second.Headers.Location!.ToString().Replace(trial.Address.ToString().TrimEnd('/'), "", StringComparison.Ordinal));
        Assert.Contains("K. Wash", await browser.ReadAsync("/"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_cookie_is_for_the_server_alone()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.AddUser("K. Wash", Role.Viewer);
        using var browser = trial.Client();
        using var answer = await browser.LogInAsync("K. Wash", WebTrial.Password);
        var cookie = Assert.Single(answer.Headers.GetValues("Set-Cookie"), c => c.StartsWith("washbridge-session=", StringComparison.Ordinal)).ToLowerInvariant();
        Assert.Contains("httponly", cookie, StringComparison.Ordinal);
        Assert.Contains("samesite=strict", cookie, StringComparison.Ordinal);
        Assert.Contains("path=/", cookie, StringComparison.Ordinal);
        Assert.DoesNotContain("expires", cookie, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_first_password_opens_nothing_but_the_page_to_change_it()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.Accounts.Add(WebTrial.Tester, "K. Wash", Role.Administrator, WebTrial.Password);
        using var browser = trial.Client();
        using var answer = await browser.LogInAsync("K. Wash", WebTrial.Password);
        Assert.EndsWith("/account", answer.Headers.Location!.ToString(), StringComparison.Ordinal);
        using var elsewhere = await browser.GetAsync("/users", WebTrial.Cancellation);
        Assert.Equal("/account", elsewhere.Headers.Location!.OriginalString);

        using var changed = await browser.SendFormAsync("/account", "password", ("current", WebTrial.Password), ("fresh", "seven quiet herons"), ("again", "seven quiet herons"));
        Assert.Equal(HttpStatusCode.Redirect, changed.StatusCode);
        await browser.ReadAsync("/users");
        using var old = await trial.Client().LogInAsync("K. Wash", WebTrial.Password);
        Assert.Equal(HttpStatusCode.Unauthorized, old.StatusCode);
    }

    [Fact]
    public async Task A_session_ends_when_it_is_idle_and_at_the_latest_after_its_longest_time()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var idle = await trial.LoggedInAsync(Role.Operator);
        trial.Time.Advance(TimeSpan.FromMinutes(29));
        await idle.ReadAsync("/");
        trial.Time.Advance(TimeSpan.FromMinutes(29));
        await idle.ReadAsync("/");
        trial.Time.Advance(TimeSpan.FromMinutes(31));
        Assert.Equal(HttpStatusCode.Redirect, await idle.StatusAsync("/"));

        using var busy = await trial.LoggedInAsync(Role.Operator, "Busy");
        for (var minutes = 0; minutes < 12 * 60; minutes += 20)
        {
            await busy.ReadAsync("/");
            trial.Time.Advance(TimeSpan.FromMinutes(20));
        }

        Assert.Equal(HttpStatusCode.Redirect, await busy.StatusAsync("/"));
    }

    [Theory]
    [InlineData(Role.Operator, HttpStatusCode.Unauthorized)]
    [InlineData(Role.Viewer, HttpStatusCode.OK)]
    public async Task A_page_that_keeps_itself_fresh_keeps_a_wall_screen_logged_in_and_no_desk(Role role, HttpStatusCode expected)
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(role);
        browser.DefaultRequestHeaders.Add("Sec-Fetch-Dest", "empty");
        for (var i = 0; i < 3; i++)
        {
            trial.Time.Advance(TimeSpan.FromMinutes(20));
            _ = await browser.StatusAsync("/");
        }

        Assert.Equal(expected, await browser.StatusAsync("/"));
    }

    [Fact]
    public async Task After_wrong_passwords_nobody_gets_in_for_a_while_and_then_the_right_one_does()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.AddUser("K. Wash", Role.Viewer);
        using var browser = trial.Client();
        for (var i = 0; i <= Lockouts.FreeForAccount; i++)
        {
            Assert.Equal(HttpStatusCode.Unauthorized, await LogInAsync(browser, "K. Wash", WrongPassword));
        }

        Assert.Equal(HttpStatusCode.Unauthorized, await LogInAsync(browser, "K. Wash", WebTrial.Password));
        trial.Time.Advance(Lockouts.First + TimeSpan.FromSeconds(1));
        Assert.Equal(HttpStatusCode.Redirect, await LogInAsync(browser, "K. Wash", WebTrial.Password));
        Assert.Equal(0, trial.Accounts.Find("k. wash")!.Failures);
    }

    [Fact]
    public async Task An_address_that_tries_many_names_is_locked_out_whatever_the_name()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.AddUser("K. Wash", Role.Viewer);
        using var browser = trial.Client();
        for (var i = 0; i <= Lockouts.FreeForAddress; i++)
        {
            Assert.Equal(HttpStatusCode.Unauthorized, await LogInAsync(browser, $"nobody {i}", WrongPassword));
        }

        Assert.Equal(HttpStatusCode.Unauthorized, await LogInAsync(browser, "K. Wash", WebTrial.Password));
        trial.Time.Advance(Lockouts.First + TimeSpan.FromSeconds(1));
        Assert.Equal(HttpStatusCode.Redirect, await LogInAsync(browser, "K. Wash", WebTrial.Password));
    }

    [Fact]
    public async Task Every_answer_to_a_failed_login_is_the_same()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.AddUser("K. Wash", Role.Viewer);
        trial.AddUser("Gone", Role.Viewer);
        trial.AddUser("Admin", Role.Administrator);
        trial.Accounts.Disable(WebTrial.Tester, "Gone");
        trial.AddUser("Locked", Role.Viewer);
        for (var i = 0; i <= Lockouts.FreeForAccount; i++)
        {
            trial.Accounts.Failed("Locked");
        }

        using var browser = trial.Client();
        var answers = new HashSet<string>();
        foreach (var (name, password) in new[] { ("K. Wash", WrongPassword), ("Nobody", WrongPassword), ("Gone", WebTrial.Password), ("Locked", WebTrial.Password), ("", ""), (new string('x', 500), WrongPassword) })
        {
            using var answer = await browser.LogInAsync(name, password);
            var text = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
            answers.Add($"{answer.StatusCode} {text.Contains("Name and password do not fit", StringComparison.Ordinal)} {answer.Headers.Contains("Set-Cookie")}");
        }

        Assert.Equal(["Unauthorized True False"], answers);
    }

    [Fact]
    public async Task Changes_of_accounts_are_recorded_without_any_password()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.Accounts.Add(WebTrial.Tester, "K. Wash", Role.Viewer, WebTrial.Password);
        trial.Accounts.SetRole(WebTrial.Tester, "k. wash", Role.Qa);
        for (var i = 0; i <= Lockouts.FreeForAccount; i++)
        {
            trial.Accounts.Failed("K. Wash");
        }

        Services(trial).Catch();
        Services(trial).Catch();
        var stored = trial.Historian.ReadEvents(new EventQuery { Kinds = ["account-changed"] }).Cast<AccountChanged>().ToList();
        Assert.Equal(
            [("K. Wash", "created", null, "Viewer", "T. Ester"), ("K. Wash", "role", "Viewer", "Qa", "T. Ester"), ("K. Wash", "locked", null, "2031-03-05T06:01:00Z", "WashBridge")],
            stored.Select(c => (c.User, c.Change, c.OldValue, c.NewValue, c.Act.By)));
        Assert.All(stored, c => Assert.Equal("*", c.Washer));
        Assert.DoesNotContain(stored, c => $"{c}".Contains(WebTrial.Password, StringComparison.Ordinal) || $"{c}".Contains("pbkdf2", StringComparison.Ordinal));
    }

    private static AccountRecords Services(WebTrial trial) => (AccountRecords)trial.Services.GetService(typeof(AccountRecords))!;

    private static async Task<HttpStatusCode> LogInAsync(Browser browser, string name, string password)
    {
        using var answer = await browser.LogInAsync(name, password);
        return answer.StatusCode;
    }
}
