using Microsoft.Playwright;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>One browser window, and everything that went wrong in it.</summary>
public sealed class Reader : IAsyncDisposable
{
    private readonly IBrowserContext _context;
    private readonly List<string> _troubles = [];

    public Reader(IBrowserContext context, IPage page)
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

    /// <summary>Errors and warnings of the console, scripts that failed, requests to other hosts or without an answer.</summary>
    public IReadOnlyList<string> Troubles => _troubles;

    public async Task<IResponse?> GoAsync(string path) => await Page.GotoAsync(path, new PageGotoOptions { WaitUntil = WaitUntilState.Load });

    /// <summary>Kept among the results, to be looked at.</summary>
    public async Task PictureAsync(string name)
    {
        var folder = Path.Combine(Repository.Root, "artifacts", "screenshots");
        Directory.CreateDirectory(folder);
        await Page.ScreenshotAsync(new PageScreenshotOptions { Path = Path.Combine(folder, name + ".png"), FullPage = true });
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
