using System.Net;
using WashBridge.Core.Records;

namespace WashBridge.Tests.Web.Accounts;

public sealed class TokensPageTests
{
    [Fact]
    public async Task A_page_that_was_left_open_revokes_the_token_that_it_names_and_is_answered_where_somebody_else_has()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var browser = await trial.LoggedInAsync(Role.Administrator);
        trial.Tokens.Make(WebTrial.Tester, "scanner-1", Role.Operator, TimeSpan.FromDays(1));
        trial.Tokens.Make(WebTrial.Tester, "scanner-2", Role.Operator, TimeSpan.FromDays(1));
        var left = new PageForm(await browser.ReadAsync("/users/tokens"), "revoke");
        Assert.Equal("scanner-1", left["token"]);

        // The first revokes it, the second finds it revoked; whoever names none that there is hears so.
        foreach (var attempt in new[] { 1, 2 })
        {
            using var answer = await left.SendAsync(browser, "/users/tokens");
            Assert.Equal((attempt, HttpStatusCode.Redirect, "/users/tokens?done=scanner-1"), (attempt, answer.StatusCode, answer.Headers.Location?.PathAndQuery));
        }

        Assert.Equal(["scanner-1"], trial.Tokens.All.Where(t => t.Revoked is not null).Select(t => t.Name));
        trial.Tokens.Revoke(WebTrial.Tester, "scanner-2");
        Assert.Equal(HttpStatusCode.Redirect, (await left.SendAsync(browser, "/users/tokens")).StatusCode);
        left["token"] = "nobody";
        using var unknown = await left.SendAsync(browser, "/users/tokens");
        Assert.Equal(HttpStatusCode.BadRequest, unknown.StatusCode);
        Assert.Contains("there is no token", WebUtility.HtmlDecode(await unknown.Content.ReadAsStringAsync(WebTrial.Cancellation)), StringComparison.Ordinal);
    }
}
