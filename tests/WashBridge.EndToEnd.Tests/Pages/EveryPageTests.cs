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
    public static readonly TheoryData<string> Places = [.. Place.All.Select(p => p.Address), "more", "login", "account", "users/tokens", "kegs/release", "nothing-here"];

    public static readonly MatrixTheoryData<string, string> PlacesOnScreens = new(Places.Select(p => p.Data), Screen.All.Select(s => s.Name));

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
    [MemberData(nameof(PlacesOnScreens))]
    public async Task It_fits_the_screen_and_nothing_goes_wrong(string place, string screenName)
    {
        await using var reader = await demo.OpenAsync(place, Screen.All.Single(s => s.Name == screenName));
        await reader.PictureAsync($"{Name(place)}-{screenName}");

        await FitsAsync(reader);
    }

    [Theory]
    [MemberData(nameof(Places))]
    public async Task Nothing_in_it_is_hard_to_use_for_anybody(string place)
    {
        foreach (var scheme in (ColorScheme[])[ColorScheme.Light, ColorScheme.Dark])
        {
            await using var reader = await demo.OpenAsync(place, Screen.Phone, scheme);
            await reader.PictureAsync($"{Name(place)}-{scheme}");
            await HardToUseAsync(reader);
        }
    }

    [Theory]
    [MemberData(nameof(Things))]
    public async Task One_of_what_is_listed_has_a_page_that_fits_and_is_easy_to_use_and_to_print(string list, string link)
    {
        await using var reader = await demo.OpenAsync(list, Screen.Phone);
        await reader.Page.Locator($"main a[href^='{link}']:visible").First.ClickAsync();
        await reader.Page.WaitForURLAsync(url => url.Contains(link, StringComparison.Ordinal));
        await reader.PictureAsync($"one-of-{list}-phone");
        await FitsAsync(reader);
        await HardToUseAsync(reader);

        await reader.Page.EmulateMediaAsync(new PageEmulateMediaOptions { Media = Media.Print });
        await reader.PictureAsync($"one-of-{list}-print");
        Assert.Empty(await reader.Page.Locator("button:visible, nav:visible, form:visible").EvaluateAllAsync<string[]>("all => all.map(e => e.outerHTML)"));
    }

    private static async Task FitsAsync(Reader reader)
    {
        await reader.Page.Locator("h1").First.WaitForAsync();
        var wider = await reader.Page.EvaluateAsync<int>("document.documentElement.scrollWidth - document.documentElement.clientWidth");
        Assert.True(wider <= 0, $"the page is {wider} px wider than the screen");
        Assert.Equal("", reader.Troubles);
    }

    /// <summary>The checks of axe-core for WCAG 2.2 A and AA and for good practice; what it rates as minor is left out.</summary>
    private static async Task HardToUseAsync(Reader reader)
    {
        await reader.Page.Locator("h1").First.WaitForAsync();
        var found = await reader.Page.RunAxe();
        Assert.Empty(found.Violations
            .Where(v => v.Impact is "moderate" or "serious" or "critical")
            .Select(v => $"{v.Id} ({v.Impact}): {v.Help}: {string.Join("; ", v.Nodes.Take(3).Select(n => n.Html))}"));
    }

    private static string Name(string place) => place.Length == 0 ? "now" : place.Replace('/', '-');
}
