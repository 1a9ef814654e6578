using Microsoft.Playwright;

namespace WashBridge.Benchmarks.Browser;

/// <summary>A browser without a screen: Debian's Chromium.</summary>
public sealed class Chromium : IAsyncDisposable
{
    /// <summary>For what a page may take on a busy machine, and not a second longer: a test must not wait for ever.</summary>
    private const float Patience = 60_000;

    private readonly IPlaywright _playwright;
    private readonly IBrowser _browser;

    private Chromium(IPlaywright playwright, IBrowser browser) => (_playwright, _browser) = (playwright, browser);

    public static async Task<Chromium> StartAsync()
    {
        var playwright = await Playwright.CreateAsync();
        return new Chromium(playwright, await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = "/usr/bin/chromium",
            Args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
        }));
    }

    /// <summary>Somebody with own cookies and an own screen.</summary>
    public async Task<IBrowserContext> SitDownAsync(Uri site, Screen screen, ColorScheme scheme = ColorScheme.Light)
    {
        var context = await _browser.NewContextAsync(new BrowserNewContextOptions
        {
            BaseURL = site.ToString(),
            ViewportSize = new ViewportSize { Width = screen.Width, Height = screen.Height },
            HasTouch = screen.IsTouch,
            ColorScheme = scheme,
        });
        context.SetDefaultTimeout(Patience);
        return context;
    }

    public async ValueTask DisposeAsync()
    {
        await _browser.CloseAsync();
        _playwright.Dispose();
    }
}
