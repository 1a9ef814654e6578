using Microsoft.Playwright;
using WashBridge.Benchmarks.Browser;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>One browser window, and everything that went wrong in it.</summary>
public sealed class Reader : IAsyncDisposable
{
    private readonly IBrowserContext _context;
    private readonly List<string> _troubles = [];

    private Reader(IBrowserContext context, IPage page)
    {
        (_context, Page) = (context, page);
        page.Console += (_, message) =>
        {
            if (message.Type is "error" or "warning")
            {
                _troubles.Add($"{message.Type}: {message.Text}");
            }
        };
        page.PageError += (_, error) => _troubles.Add($"script: {error}");
        page.Request += (_, request) =>
        {
            if (new Uri(request.Url) is { Scheme: "http" or "https" or "ws" or "wss", IsLoopback: false })
            {
                _troubles.Add($"another host: {request.Url}");
            }
        };
        page.RequestFailed += (_, request) => Failed(request);
    }

    public IPage Page { get; }

    public static async Task<Reader> OpenAsync(Chromium chromium, Uri site, string path = "", Screen? screen = null, ColorScheme scheme = ColorScheme.Light)
    {
        var context = await chromium.SitDownAsync(site, screen ?? Screen.Desk, scheme);
        var reader = new Reader(context, await context.NewPageAsync());
        await reader.GoAsync(path);
        return reader;
    }

    /// <summary>Errors and warnings of the console, scripts that failed, requests to other hosts or without an answer.</summary>
    public string Troubles => string.Join(Environment.NewLine, _troubles);

    public async Task<IResponse?> GoAsync(string path) => await Page.GotoAsync(path, new PageGotoOptions { WaitUntil = WaitUntilState.Load });

    /// <summary>Kept among the results, to be looked at.</summary>
    public async Task PictureAsync(string name)
    {
        var folder = Path.Combine(Repository.Root, "artifacts", "screenshots");
        Directory.CreateDirectory(folder);
        await Page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(folder, name + ".png"), FullPage = Page.ViewportSize?.Height < 2000 });
    }

    public async ValueTask DisposeAsync() => await _context.CloseAsync();

    /// <summary>What the page itself gave up, by going elsewhere, has not failed.</summary>
    private void Failed(IRequest request)
    {
        if (request.Failure is not "net::ERR_ABORTED")
        {
            _troubles.Add($"{request.Failure}: {request.Url}");
        }
    }
}
