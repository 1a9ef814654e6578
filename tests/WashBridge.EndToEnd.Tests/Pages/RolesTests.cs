using WashBridge.Benchmarks.Browser;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Tests.Web;
using WashBridge.Tests.Web.Kegs;
using WashBridge.Web;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>Where people must log in: the way in and out, and what each role is offered.</summary>
public sealed class RolesTests : IAsyncLifetime
{
    private const string BadKeg = "K-0042";
    private const string GoodKeg = "K-0043";

    private WebTrial _site = null!;
    private Chromium _chromium = null!;

    public async ValueTask InitializeAsync()
    {
        _site = await WebTrial.StartWithLoginAsync();
        var now = Instant.Floor(_site.Time.GetUtcNow());
        _site.Historian.AppendEvents([WashedKegs.Judged(BadKeg, Verdict.NotMet, now, station: 1), WashedKegs.Judged(GoodKeg, Verdict.Met, now, station: 2)]);
        _chromium = await Chromium.StartAsync();
    }

    public async ValueTask DisposeAsync()
    {
        await _chromium.DisposeAsync();
        await _site.DisposeAsync();
    }

    [Theory]
    [InlineData(Role.Viewer, "", "")]
    [InlineData(Role.Operator, "hold", "release hold")]
    [InlineData(Role.Qa, "release hold rewash", "release hold rewash")]
    [InlineData(Role.Administrator, "release hold rewash", "release hold rewash")]
    public async Task A_role_is_offered_what_it_may_and_nothing_else(Role role, string aboutBad, string aboutGood)
    {
        _site.AddUser("K. Wash", role);
        await using var reader = await LogInAsync("", Screen.Phone);

        Assert.Equal(Sorted(aboutBad), await OfferedAsync(reader, BadKeg));
        Assert.Equal(Sorted(aboutGood), await OfferedAsync(reader, GoodKeg));
        await reader.PictureAsync($"keg-for-{role}");

        await reader.GoAsync("recipes/full-wash");
        Assert.Equal(role >= Role.Operator, await reader.Page.Locator("main form[method=post]").CountAsync() > 0);

        await reader.GoAsync("more");
        Assert.Equal(role == Role.Administrator, await reader.Page.Locator("main a[href='users']").IsVisibleAsync());
        Assert.Equal("", reader.Troubles);
        var users = await reader.GoAsync("users");
        Assert.Equal(role == Role.Administrator ? 200 : 403, users!.Status);
    }

    [Fact]
    public async Task Who_follows_a_link_logs_in_first_and_then_sees_what_it_leads_to()
    {
        _site.AddUser("K. Wash", Role.Operator);
        await using var reader = await Reader.OpenAsync(_chromium, _site.Address, Links.Keg(GoodKeg), Screen.Phone);
        await reader.Page.WaitForURLAsync("**/login**");
        Assert.DoesNotContain(GoodKeg, await reader.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
        await FillAsync(reader, "K. Wash", "a wrong password");
        await reader.Page.Locator("#failed").WaitForAsync();
        Assert.Equal("", await reader.Page.Locator("#password").InputValueAsync());
        await reader.PictureAsync("login-failed-phone");

        await FillAsync(reader, "K. Wash", WebTrial.Password);
        await reader.Page.WaitForURLAsync("**/kegs/keg**");

        Assert.Contains(GoodKeg, await reader.Page.Locator("h1").InnerTextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_has_logged_out_sees_nothing_any_more_not_even_by_going_back()
    {
        _site.AddUser("K. Wash", Role.Viewer);
        await using var reader = await LogInAsync("kegs", Screen.Desk);
        await reader.Page.Locator(".account-menu summary").ClickAsync();
        await reader.Page.Locator(".account-menu form button").ClickAsync();
        await reader.Page.WaitForURLAsync("**/login**");

        await reader.Page.GoBackAsync();

        await reader.Page.Locator("#password").WaitForAsync();
        Assert.DoesNotContain(GoodKeg, await reader.Page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_first_password_is_changed_before_anything_else()
    {
        _site.Accounts.Add(WebTrial.Tester, "N. Ew", Role.Operator, WebTrial.Password);
        await using var reader = await Reader.OpenAsync(_chromium, _site.Address, "login", Screen.Phone);
        await FillAsync(reader, "N. Ew", WebTrial.Password);
        await reader.Page.WaitForURLAsync("**/account");
        await reader.GoAsync("kegs");
        await reader.Page.WaitForURLAsync("**/account");

        await reader.Page.Locator("#current").FillAsync(WebTrial.Password);
        await reader.Page.Locator("#fresh").FillAsync("seven copper herons walk");
        await reader.Page.Locator("#again").FillAsync("seven copper herons walk");
        await reader.Page.Locator("main form button").ClickAsync();
        await reader.Page.Locator("[role=status].good").WaitForAsync();
        await reader.GoAsync("kegs");

        Assert.EndsWith("/kegs", reader.Page.Url, StringComparison.Ordinal);
        Assert.Equal("", reader.Troubles);
    }

    private async Task<Reader> LogInAsync(string path, Screen screen)
    {
        var reader = await Reader.OpenAsync(_chromium, _site.Address, "login?to=/" + path, screen);
        await FillAsync(reader, "K. Wash", WebTrial.Password);
        await reader.Page.WaitForURLAsync(new Uri(_site.Address, path).ToString());
        return reader;
    }

    private static async Task FillAsync(Reader reader, string name, string password)
    {
        await reader.Page.Locator("#name").FillAsync(name);
        await reader.Page.Locator("#password").FillAsync(password);
        await reader.Page.Locator("main form button").ClickAsync();
    }

    private static async Task<IReadOnlyList<string>> OfferedAsync(Reader reader, string keg)
    {
        await reader.GoAsync(Links.Keg(keg));
        return [.. (await reader.Page.Locator("main form.card").EvaluateAllAsync<string[]>("all => all.map(f => f.id)")).Order(StringComparer.Ordinal)];
    }

    private static IReadOnlyList<string> Sorted(string names) => [.. names.Split(' ', StringSplitOptions.RemoveEmptyEntries).Order(StringComparer.Ordinal)];
}
