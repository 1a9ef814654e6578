using Deque.AxeCore.Playwright;
using Microsoft.Playwright;
using WashBridge.Benchmarks.Browser;
using WashBridge.Web.Layout;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>What holds for every page, on every screen, in light and dark.</summary>
[Collection(nameof(PagesCollection))]
public sealed class EveryPageTests(RunningDemo demo)
{
    /// <summary>All that the navigation leads to, and what stands beside it.</summary>
    public static readonly TheoryData<string> Places = [.. Place.All.Select(p => p.Address), "more", "login", "account", "users/tokens", "kegs/release", "recipes/full-wash/1/again", "nothing-here"];

    /// <summary>A page of lists, and a link in it to one of the things listed.</summary>
    public static readonly TheoryData<string, string> Things = new()
    {
        { "kegs", "kegs/keg?id=" },
        { "cycles", "cycles/" },
        { "alarms", "alarms/" },
        { "drift", "drift/" },
        { "upkeep", "upkeep/" },
        { "baths", "baths/" },
        { "recipes", "recipes/" },
    };

    [Theory]
    [MemberData(nameof(Places))]
    public async Task It_fits_every_screen_nothing_goes_wrong_and_it_is_easy_to_use_in_light_and_dark(string place)
    {
        await using var reader = await demo.OpenAsync(place, Screen.Phone);
        foreach (var screen in Screen.All)
        {
            await reader.Page.SetViewportSizeAsync(screen.Width, screen.Height);
            await reader.Page.ReloadAsync();
            await reader.PictureAsync($"{Name(place)}-{screen.Name}");
            await FitsAsync(reader, screen.Name);
        }

        await reader.Page.SetViewportSizeAsync(Screen.Phone.Width, Screen.Phone.Height);
        await HardToUseAsync(reader);
        await reader.Page.EmulateMediaAsync(new PageEmulateMediaOptions { ColorScheme = ColorScheme.Dark });
        await reader.PictureAsync($"{Name(place)}-dark");
        await HardToUseAsync(reader);
    }

    [Theory]
    [MemberData(nameof(Things))]
    public async Task One_of_what_is_listed_has_a_page_that_fits_and_is_easy_to_use_and_to_print(string list, string link)
    {
        await using var reader = await demo.OpenAsync(list, Screen.Phone);

        // What is well is folded away.
        await reader.Page.EvaluateAsync("document.querySelectorAll('main details').forEach(d => d.open = true)");
        await reader.Page.Locator($"main a[href^='{link}']:visible").First.ClickAsync();
        await reader.Page.WaitForURLAsync(url => url.Contains(link, StringComparison.Ordinal));
        await reader.PictureAsync($"one-of-{list}-phone");
        await FitsAsync(reader, Screen.Phone.Name);
        await HardToUseAsync(reader);

        await reader.Page.SetViewportSizeAsync(Screen.Paper.Width, Screen.Paper.Height);
        await reader.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        await reader.PictureAsync($"one-of-{list}-print");
        await FitsAsync(reader, Screen.Paper.Name);

        // Names of lines stay, as the legend.
        Assert.Empty(await reader.Page.Locator("button:not(.chart-legend button):visible, nav:visible, form:visible").EvaluateAllAsync<string[]>("all => all.map(e => e.outerHTML)"));
    }

    internal static async Task FitsAsync(Reader reader, string screen)
    {
        await reader.Page.Locator("h1").First.WaitForAsync();
        var wider = await reader.Page.EvaluateAsync<int>("document.documentElement.scrollWidth - document.documentElement.clientWidth");
        Assert.True(wider <= 0, $"{screen}: the page is {wider} px wider than the screen");
        Assert.Equal("", reader.Troubles);
    }

    /// <summary>The checks of axe-core for WCAG 2.2 A and AA and for good practice; what it rates as minor is left out.</summary>
    internal static async Task HardToUseAsync(Reader reader)
    {
        await reader.Page.Locator("h1").First.WaitForAsync();
        var found = await reader.Page.RunAxe();
        Assert.Equal("", string.Join(Environment.NewLine, found.Violations
            .Where(v => v.Impact is "moderate" or "serious" or "critical")
            .Select(v => $"{v.Id} ({v.Impact}): {v.Help}: {string.Join("; ", v.Nodes.Take(3).Select(n => n.Html))}")));
    }

    private static string Name(string place) => place.Length == 0 ? "now" : place.Replace('/', '-');
}
