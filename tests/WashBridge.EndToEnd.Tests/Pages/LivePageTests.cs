using Microsoft.Playwright;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>A page that stays open: it keeps up by itself, and says when it cannot.</summary>
[Collection(nameof(PagesCollection))]
public sealed class LivePageTests(RunningDemo demo)
{
    [Fact]
    public async Task What_happens_appears_without_loading_the_page_again()
    {
        await using var reader = await demo.OpenAsync();
        await reader.Page.EvaluateAsync("window.loadedOnce = true");
        var before = await reader.Page.Locator("main").InnerTextAsync();

        await reader.Page.WaitForFunctionAsync("before => document.querySelector('main').innerText !== before", before);

        Assert.True(await reader.Page.EvaluateAsync<bool>("window.loadedOnce === true"));
        Assert.Equal("", reader.Troubles);
    }

    [Fact]
    public async Task Without_the_server_it_says_since_when_what_it_shows_is_old_and_goes_on_when_it_is_back()
    {
        await using var reader = await demo.OpenAsync();
        await reader.Page.RouteAsync("**/live", route => route.AbortAsync());
        await reader.Page.ReloadAsync();
        await reader.Page.Locator("#stale").WaitForAsync(new LocatorWaitForOptions { State = WaitForSelectorState.Visible });
        Assert.Matches(@"since \d\d:\d\d:\d\d .*old", await reader.Page.Locator("#stale").InnerTextAsync());
        await reader.PictureAsync("now-without-server");

        await reader.Page.UnrouteAllAsync();
        await reader.Page.ReloadAsync();
        await reader.Page.WaitForFunctionAsync("before => document.querySelector('main').innerText !== before", await reader.Page.Locator("main").InnerTextAsync());
        await reader.Page.Locator("#stale").WaitForAsync(new LocatorWaitForOptions { State = WaitForSelectorState.Hidden, Timeout = 60_000 });
    }

    [Fact]
    public async Task Dark_or_light_is_remembered_on_the_device()
    {
        await using var reader = await demo.OpenAsync();
        await reader.Page.Locator("#theme").ClickAsync();
        await reader.GoAsync("more");

        Assert.Equal("dark", await reader.Page.Locator("html").GetAttributeAsync("data-theme"));
        Assert.Equal("", reader.Troubles);
    }

    [Fact]
    public async Task On_paper_there_is_what_a_page_says_and_nothing_to_press()
    {
        await using var reader = await demo.OpenAsync("records");
        await reader.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });

        Assert.False(await reader.Page.Locator("header.top").IsVisibleAsync());
        Assert.Equal(0, await reader.Page.Locator("button:visible, nav:visible").CountAsync());
        Assert.True(await reader.Page.Locator("h1").IsVisibleAsync());
    }

    [Fact]
    public async Task All_of_it_can_be_reached_by_the_keyboard_and_one_sees_where_one_is()
    {
        await using var reader = await demo.OpenAsync("more");
        await reader.Page.Keyboard.PressAsync("Tab");
        Assert.Equal("To the content", await reader.Page.EvaluateAsync<string>("document.activeElement.innerText"));
        await reader.Page.Keyboard.PressAsync("Enter");
        Assert.Equal("content", await reader.Page.EvaluateAsync<string>("document.activeElement.id"));
        await reader.Page.Keyboard.PressAsync("Tab");

        var (tag, outline) = (await reader.Page.EvaluateAsync<string>("document.activeElement.tagName"), await reader.Page.EvaluateAsync<string>("getComputedStyle(document.activeElement).outlineStyle"));
        Assert.Equal(("A", "solid"), (tag, outline));
    }
}
