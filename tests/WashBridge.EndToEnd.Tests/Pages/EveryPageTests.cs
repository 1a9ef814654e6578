using Deque.AxeCore.Playwright;
using Microsoft.Playwright;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>What holds for every page, on every screen, in light and dark.</summary>
[Collection(nameof(PagesCollection))]
public sealed class EveryPageTests(RunningDemo demo)
{
    /// <summary><see cref="Every_place_of_the_navigation_is_here"/> holds that none is forgotten.</summary>
    public static readonly TheoryData<string> Places = ["", "wall", "kegs", "alarms", "upkeep", "drift", "baths", "data", "setup", "reports", "records", "recipes", "sampling", "cycles", "signals", "more"];

    public static readonly MatrixTheoryData<string, string> PlacesOnScreens = new(Places.Select(p => p.Data), Screen.All.Select(s => s.Name));

    [Theory]
    [MemberData(nameof(PlacesOnScreens))]
    public async Task It_fits_the_screen_and_nothing_goes_wrong(string place, string screenName)
    {
        var screen = Screen.All.Single(s => s.Name == screenName);
        await using var reader = await demo.OpenAsync(place, screen);
        await reader.Page.Locator("h1").First.WaitForAsync();
        await reader.PictureAsync($"{Name(place)}-{screenName}");

        var wider = await reader.Page.EvaluateAsync<int>("document.documentElement.scrollWidth - document.documentElement.clientWidth");
        Assert.True(wider <= 0, $"the page is {wider} px wider than the screen");
        Assert.Empty(reader.Troubles);
    }

    [Theory]
    [MemberData(nameof(Places))]
    public async Task Nothing_in_it_is_hard_to_use_for_anybody(string place)
    {
        foreach (var scheme in (ColorScheme[])[ColorScheme.Light, ColorScheme.Dark])
        {
            await using var reader = await demo.OpenAsync(place, Screen.Phone, scheme);
            await reader.Page.Locator("h1").First.WaitForAsync();
            if (scheme == ColorScheme.Dark)
            {
                await reader.PictureAsync($"{Name(place)}-dark");
            }

            // The checks of axe-core for WCAG 2.2 A and AA and for good practice; minor ones are told by its own rating.
            var found = await reader.Page.RunAxe();
            Assert.Empty(found.Violations
                .Where(v => v.Impact is "moderate" or "serious" or "critical")
                .Select(v => $"{scheme}: {v.Id} ({v.Impact}): {v.Help}: {string.Join("; ", v.Nodes.Take(3).Select(n => n.Html))}"));
        }
    }

    [Fact]
    public async Task Every_place_of_the_navigation_is_here()
    {
        await using var reader = await demo.OpenAsync();
        var links = await reader.Page.Locator("header nav a").EvaluateAllAsync<string[]>("all => all.map(a => a.getAttribute('href'))");
        Assert.All(links, link => Assert.Contains(link, Places.Select(p => p.Data)));
    }

    private static string Name(string place) => place.Length == 0 ? "now" : place.Replace('/', '-');
}

[CollectionDefinition(nameof(PagesCollection))]
public sealed class PagesCollection : ICollectionFixture<RunningDemo>;
