using System.Text.RegularExpressions;
using Microsoft.Playwright;
using WashBridge.Benchmarks.Browser;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Pages;

/// <summary>The demonstration with its pages, and a browser that looks at them as its users do.</summary>
public sealed partial class RunningDemo : IAsyncLifetime
{
    private readonly TemporaryFolder _folder = new();
    private ProgramProcess? _program;
    private Chromium? _chromium;

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
        _chromium = await Chromium.StartAsync();
    }

    public Task<Reader> OpenAsync(string path = "", Screen? screen = null, ColorScheme scheme = ColorScheme.Light) => Reader.OpenAsync(_chromium!, Address, path, screen, scheme);

    public async ValueTask DisposeAsync()
    {
        await (_chromium?.DisposeAsync() ?? ValueTask.CompletedTask);
        await (_program?.DisposeAsync() ?? ValueTask.CompletedTask);
        _folder.Dispose();
    }

    [GeneratedRegex(@"Pages: (\S+)")]
    private static partial Regex AddressLine();
}

[CollectionDefinition(nameof(PagesCollection))]
public sealed class PagesCollection : ICollectionFixture<RunningDemo>;
