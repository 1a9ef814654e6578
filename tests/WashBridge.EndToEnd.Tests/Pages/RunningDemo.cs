using System.Text.RegularExpressions;
using Microsoft.Playwright;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>The demonstration with its pages, and a browser that looks at them as its users do.</summary>
public sealed partial class RunningDemo : IAsyncLifetime
{
    private readonly TemporaryFolder _folder = new();
    private ProgramProcess? _program;
    private IPlaywright? _playwright;

    public IBrowser Browser { get; private set; } = null!;

    public Uri Address { get; private set; } = null!;

    public string Store => _folder["demo.washdb"];

    public async ValueTask InitializeAsync()
    {
        using var deadline = new CancellationTokenSource(TimeSpan.FromMinutes(3));
        _program = ProgramProcess.Start("demo", "--speed", "20", "--history", "8", "--store", Store, "--port", "0");
        await _program.SeeAsync("Pages: ", deadline.Token);
        Address = new Uri(AddressLine().Match(_program.Output).Groups[1].Value);

        // Until live cycles have ended, with good and bad kegs.
        await _program.SeeAsync("NOT MET", deadline.Token);
        _playwright = await Playwright.CreateAsync();
        Browser = await _playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = "/usr/bin/chromium",
            Args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
        });
    }

    /// <summary>A reader of his own: own cookies, own screen.</summary>
    public async Task<Reader> OpenAsync(string path = "", Screen? screen = null, ColorScheme scheme = ColorScheme.Light)
    {
        screen ??= Screen.Desk;
        var context = await Browser.NewContextAsync(new BrowserNewContextOptions
        {
            BaseURL = Address.ToString(),
            ViewportSize = new ViewportSize { Width = screen.Width, Height = screen.Height },
            HasTouch = screen.IsTouch,
            ColorScheme = scheme,
        });
        var reader = new Reader(context, await context.NewPageAsync());
        await reader.GoAsync(path);
        return reader;
    }

    public async ValueTask DisposeAsync()
    {
        if (Browser is not null)
        {
            await Browser.CloseAsync();
        }

        _playwright?.Dispose();
        if (_program is not null)
        {
            await _program.DisposeAsync();
        }

        _folder.Dispose();
    }

    [GeneratedRegex(@"Pages: (\S+)")]
    private static partial Regex AddressLine();
}

/// <summary>Where pages are read.</summary>
public sealed record Screen(string Name, int Width, int Height, bool IsTouch)
{
    public static readonly Screen Phone = new("phone", 360, 740, true);
    public static readonly Screen Tablet = new("tablet", 820, 1180, true);
    public static readonly Screen Desk = new("desk", 1440, 900, false);
    public static readonly Screen Wall = new("wall", 3840, 2160, false);

    public static readonly IReadOnlyList<Screen> All = [Phone, Tablet, Desk, Wall];
}
