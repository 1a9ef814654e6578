using System.Net.Http.Json;
using Microsoft.Playwright;
using WashBridge.Benchmarks.Browser;
using WashBridge.Core.Cycles;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>A keg from the scanner to its release, as operator and QA do it.</summary>
[Collection(nameof(PagesCollection))]
public sealed class KegTests(RunningDemo demo)
{
    private const string Keg = "E2E 4711/ä<b>";

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Fact]
    public async Task It_is_scanned_washed_judged_released_held_again_and_every_act_is_on_record()
    {
        using var scanner = new HttpClient { BaseAddress = demo.Address };
        using var scanned = await scanner.PostAsJsonAsync("scans", new { washer = "yard", station = 1, keg = Keg }, Cancellation);
        Assert.Equal(System.Net.HttpStatusCode.Created, scanned.StatusCode);
        await JudgedAsync();

        await using var reader = await demo.OpenAsync("kegs", Screen.Phone);
        await reader.Page.Locator("input[type=search]").First.FillAsync(Keg);
        await reader.Page.Keyboard.PressAsync("Enter");
        await reader.Page.Locator("main .lead .verdict").WaitForAsync();
        await reader.PictureAsync("keg-judged-phone");

        // Whatever came of it, a reason never hurts.
        await DecideAsync(reader.Page, "release", "opened and looked clean");
        Assert.Contains("released", await reader.Page.Locator("main").InnerTextAsync());
        await DecideAsync(reader.Page, "hold", "a customer rang");
        Assert.Contains("held", await reader.Page.Locator("main").InnerTextAsync());
        Assert.Equal(0, await reader.Page.Locator("form#hold").CountAsync());

        await reader.GoAsync("records?kind=keg-decided");
        var records = await reader.Page.Locator("#records").InnerTextAsync();
        Assert.Contains($"keg {Keg}: released", records);
        Assert.Contains($"keg {Keg}: held", records);
        Assert.Contains("a customer rang", records);
        await reader.GoAsync("records?check=1");
        Assert.Contains("as they were written", await reader.Page.Locator("#check").InnerTextAsync());
        Assert.Equal("", reader.Troubles);
    }

    [Fact]
    public async Task A_decision_without_a_name_or_a_reason_is_not_taken_and_says_what_is_missing()
    {
        // One that nobody has held yet: of those the form is there.
        await using var reader = await demo.OpenAsync("kegs?state=undecided");
        await reader.Page.Locator("#kegs a[href*='kegs/keg'], main table a[href*='kegs/keg']").First.ClickAsync();
        var form = reader.Page.Locator("form#hold");
        await form.EvaluateAsync("form => form.noValidate = true");
        await form.Locator("textarea").FillAsync("");
        await form.Locator("input[name=by]").FillAsync("Ines");
        await form.Locator("button").ClickAsync();

        Assert.Contains("reason: found nothing", await reader.Page.Locator("#problem").InnerTextAsync());
        Assert.Equal("Ines", await reader.Page.Locator("form#hold input[name=by]").InputValueAsync());
    }

    /// <summary>Until the washing of the scanned keg has ended, which at this speed takes some ten seconds.</summary>
    private async Task JudgedAsync()
    {
        using var store = HistorianFile.OpenReader(demo.Store);
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(200));
        while (!store.ReadKeg(Keg).Any(e => e.Event is KegJudged))
        {
            await look.WaitForNextTickAsync(Cancellation);
        }
    }

    private static async Task DecideAsync(IPage page, string decision, string reason)
    {
        var form = page.Locator($"form#{decision}");
        await form.Locator("textarea").FillAsync(reason);
        await form.Locator("input[name=by]").FillAsync("Ines Moor");
        await form.Locator("button").ClickAsync();
        await page.Locator("[role=status].good").WaitForAsync();
    }
}
