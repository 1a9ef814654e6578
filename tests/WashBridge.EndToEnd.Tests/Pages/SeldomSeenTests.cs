using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;
using WashBridge.Benchmarks;
using WashBridge.Benchmarks.Browser;
using WashBridge.Core.Records;
using WashBridge.Pairing;
using WashBridge.Pipeline;
using WashBridge.Tests.Recipes;
using WashBridge.Tests.Web;
using WashBridge.Tests.Web.Trends;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>What the demonstration does not show: a bridge that copies another, tokens, washings judged again with another version, many washers.</summary>
public sealed class SeldomSeenTests : IAsyncLifetime
{
    /// <summary>Of what is pressed with a glove, in px of CSS: 3 rem.</summary>
    private const double Touch = 48;

    private Chromium _chromium = null!;

    public async ValueTask InitializeAsync() => _chromium = await Chromium.StartAsync();

    public async ValueTask DisposeAsync() => await _chromium.DisposeAsync();

    [Fact]
    public async Task A_bridge_that_copies_says_so_on_its_pages_with_a_way_to_the_other_that_a_glove_can_press()
    {
        await using var site = await WebTrial.StartAsync(more: s => s.AddSingleton(new ReadingRole(new Uri("https://bridge-2.example:8480")) { IsReading = false }));
        await using var reader = await Reader.OpenAsync(_chromium, site.Address, "kegs", Screen.Phone);

        Assert.Contains("only copies", await reader.Page.Locator("#copy").InnerTextAsync(), StringComparison.Ordinal);
        var way = reader.Page.Locator("#copy a");
        Assert.Equal("https://bridge-2.example:8480/", await way.GetAttributeAsync("href"));
        Assert.True((await way.BoundingBoxAsync())!.Height >= Touch);
        await FitsEverywhereAsync(reader, "copy");
    }

    [Fact]
    public async Task A_token_is_revoked_by_a_second_press_that_is_told_to_be_for_good()
    {
        await using var site = await WebTrial.StartAsync();
        site.Tokens.Make(WebTrial.Tester, "scanner-1", Role.Operator, TimeSpan.FromDays(1));
        await using var reader = await Reader.OpenAsync(_chromium, site.Address, "users/tokens", Screen.Phone);

        await reader.Page.GetByText("Revoke scanner-1").ClickAsync();
        Assert.Null(Assert.Single(site.Tokens.All).Revoked);
        await FitsEverywhereAsync(reader, "token-revoke");
        await reader.Page.Locator("details[open] input[name=by]").FillAsync("T. Ester");
        var press = reader.Page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Revoke for good scanner-1" });
        Assert.True((await press.BoundingBoxAsync())!.Height >= Touch);
        await press.ClickAsync();
        await reader.Page.Locator("[role=status].good").WaitForAsync();

        Assert.NotNull(Assert.Single(site.Tokens.All).Revoked);
        await EveryPageTests.HardToUseAsync(reader);
        Assert.Equal("", reader.Troubles);
    }

    [Fact]
    public async Task What_another_version_would_have_done_is_read_without_scrolling_aside_on_a_tablet()
    {
        await using var site = await WebTrial.StartAsync();
        site.Time.Advance(RecipeNight.Start.ToDateTimeOffset() + TimeSpan.FromMinutes(16) - site.Time.GetUtcNow());
        RecipeNight.Live(site.Historian, [], int.MaxValue, _ => { });
        new Analyst(site.Historian, site.Site.Washers).CatchUp();
        site.Historian.AppendEvents([.. RecipeNight.Approved(2, 60, RecipeNight.Start + TimeSpan.FromMinutes(15), null)]);

        // A period without its begin is refused, and what was chosen stays.
        await using (var refused = await Reader.OpenAsync(_chromium, site.Address, "recipes/full-wash/2/again", Screen.Phone))
        {
            await refused.Page.Locator("#cycles").SelectOptionAsync("");
            await refused.Page.Locator("main form.filter button").ClickAsync();
            await refused.Page.Locator("#problem").WaitForAsync();
            Assert.Equal("", await refused.Page.Locator("#cycles").InputValueAsync());
            await EveryPageTests.HardToUseAsync(refused);
        }

        await using var reader = await Reader.OpenAsync(_chromium, site.Address, "recipes/full-wash/2/again", Screen.Tablet);
        await reader.Page.Locator("#cycles").SelectOptionAsync("50");
        await reader.Page.Locator("main form.filter button").ClickAsync();
        await reader.Page.Locator("#again #reason").WaitForAsync();

        await TablesFitAsync(reader);
        await FitsEverywhereAsync(reader, "again-counted");
    }

    [Theory]
    [InlineData("setup")]
    [InlineData("drift")]
    [InlineData("upkeep")]
    public async Task Of_many_washers_a_line_each_fits_and_one_is_chosen_without_a_script(string page)
    {
        await using var site = await WebTrial.StartAsync(site: s => s with { Washers = [.. Enumerable.Range(1, 40).Select(n => LivePageBench.Washer(s.Washers[0], $"w{n}"))] });
        site.Historian.AppendEvents([Washing.Drift(5, "drain-index@2") with { Id = "w7/drift", Washer = "w7" }]);
        await using var reader = await Reader.OpenAsync(_chromium, site.Address, page, Screen.Phone);
        await FitsEverywhereAsync(reader, $"many-{page}");
        await reader.Page.SetViewportSizeAsync(Screen.Tablet.Width, Screen.Tablet.Height);
        await TablesFitAsync(reader);

        await reader.Page.Locator("#washer").SelectOptionAsync("w7");
        await reader.Page.Locator("form:has(#washer) button").ClickAsync();
        await reader.Page.WaitForURLAsync(url => url.EndsWith($"/{page}?washer=w7", StringComparison.Ordinal));
        Assert.Equal("w7", await reader.Page.Locator("#washer").InputValueAsync());
        await FitsEverywhereAsync(reader, $"one-of-many-{page}");
    }

    /// <summary>Nothing must be scrolled aside to be read.</summary>
    private static async Task TablesFitAsync(Reader reader) =>
        Assert.All(await reader.Page.Locator("main .frame").EvaluateAllAsync<int[]>("all => all.map(f => f.scrollWidth - f.clientWidth)"), wider => Assert.True(wider <= 0, $"a table is {wider} px wider than its frame"));

    /// <summary>On every screen, in light and dark.</summary>
    private static async Task FitsEverywhereAsync(Reader reader, string name)
    {
        foreach (var scheme in new[] { ColorScheme.Light, ColorScheme.Dark })
        {
            await reader.Page.EmulateMediaAsync(new PageEmulateMediaOptions { ColorScheme = scheme });
            foreach (var screen in Screen.All)
            {
                await reader.Page.SetViewportSizeAsync(screen.Width, screen.Height);
                await reader.PictureAsync($"{name}-{screen.Name}-{scheme}");
                await EveryPageTests.FitsAsync(reader, screen.Name);
            }

            await EveryPageTests.HardToUseAsync(reader);
        }
    }
}
