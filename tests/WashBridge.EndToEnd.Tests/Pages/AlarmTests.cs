using Microsoft.Playwright;
using WashBridge.Benchmarks.Browser;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>The whole life of an alarm that people have something to say about.</summary>
[Collection(nameof(PagesCollection))]
public sealed class AlarmTests(RunningDemo demo)
{
    [Fact]
    public async Task It_is_acknowledged_shelved_taken_back_put_out_of_service_and_returned()
    {
        await using var reader = await demo.OpenAsync("alarms", Screen.Tablet);
        await reader.PictureAsync("alarms-standing-tablet");
        await reader.Page.Locator("main a[href*='drain-valve']").First.ClickAsync();

        await OrderAsync(reader.Page, "acknowledge", "seen", next: "shelve");
        await OrderAsync(reader.Page, "shelve", "the part is ordered", next: "unshelve");
        await OrderAsync(reader.Page, "unshelve", "the part came", next: "out-of-service");
        await OrderAsync(reader.Page, "out-of-service", "the station is closed", next: "return");
        await OrderAsync(reader.Page, "return", "the station is open", next: "shelve");
        await reader.PictureAsync("alarm-life-tablet");

        var life = await reader.Page.Locator("ol.life").InnerTextAsync();
        Assert.All((string[])["the part is ordered", "the part came", "the station is closed", "Tom Weir"], said => Assert.Contains(said, life));
        Assert.Equal("", reader.Troubles);
    }

    [Fact]
    public async Task What_does_not_fit_any_more_is_refused_and_nothing_changes()
    {
        await using var first = await demo.OpenAsync("alarms");
        await using var second = await demo.OpenAsync("alarms");
        foreach (var reader in (Reader[])[first, second])
        {
            await reader.Page.Locator("main a[href*='alarms/']:not([href*='drain-valve'])").First.ClickAsync();
            await reader.Page.Locator("form#acknowledge").WaitForAsync();
        }

        // As a page that was left open on a device that hears nothing: it does not learn that the alarm changed.
        await second.Page.RouteAsync("**/live", route => route.AbortAsync());
        await second.Page.ReloadAsync();
        await OrderAsync(first.Page, "acknowledge", "", next: null);
        await first.Page.Locator("form#acknowledge").WaitForAsync(new LocatorWaitForOptions { State = WaitForSelectorState.Detached, Timeout = 60_000 });
        var form = second.Page.Locator("form#acknowledge");
        await form.Locator("input[name=by]").FillAsync("Tom Weir");
        await form.Locator("button").ClickAsync();

        await second.Page.Locator("#problem").WaitForAsync();
    }

    /// <summary>Orders, and waits until the analysis has followed it and the page offers what can be ordered next.</summary>
    private static async Task OrderAsync(IPage page, string order, string reason, string? next)
    {
        var form = page.Locator($"form#{order}");
        await form.Locator("textarea").FillAsync(reason);
        await form.Locator("input[name=by]").FillAsync("Tom Weir");
        await form.Locator("button").ClickAsync();
        await page.Locator("[role=status].good").WaitForAsync();
        if (next is not null)
        {
            await page.Locator($"form#{next}").WaitForAsync(new LocatorWaitForOptions { Timeout = 60_000 });
        }
    }
}
