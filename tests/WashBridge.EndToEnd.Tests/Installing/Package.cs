using System.Diagnostics;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>The program as it is installed: published for this machine, packed for Debian, and unpacked into a folder that stands for the root.</summary>
[CollectionDefinition(nameof(Package))]
public sealed class Package : IAsyncLifetime, ICollectionFixture<Package>
{
    /// <summary>As the page for brewery IT has it.</summary>
    public const string Build = "src/WashBridge/Installing/publish linux-x64\nsrc/WashBridge/Installing/package-debian\n";

    private readonly TemporaryFolder _folder = new();

    /// <summary>The package's file.</summary>
    public string File { get; private set; } = "";

    public string Root => _folder["root"];

    public string Program => Path.Combine(Root, "usr", "lib", "washbridge", "washbridge");

    public string Unit => Path.Combine(Root, "lib", "systemd", "system", "washbridge.service");

    public async ValueTask InitializeAsync()
    {
        var made = await Shell.RunAsync(Build);
        File = Path.Combine(Repository.Root, made.TrimEnd().Split('\n')[^1]);
        await Shell.RunAsync($"dpkg-deb --extract {File} {Root}");
    }

    public ValueTask DisposeAsync()
    {
        _folder.Dispose();
        return ValueTask.CompletedTask;
    }

    /// <summary>A copy of the installed site whose places are in a folder of the test's own, and whose washers nobody answers for.</summary>
    /// <returns>The site's file.</returns>
    internal async Task<string> SiteAsync(TemporaryFolder folder)
    {
        await Shell.RunAsync($"""
            cp -r {Root}/etc/washbridge {folder["site"]}
            sed -i 's|/var/lib/washbridge|{folder.Root}|' {folder["site"]}/site.yaml
            sed -i -e 's|192.0.2.[0-9]*|127.0.0.1|' -e 's|port: 502$|port: 1|' -e 's|:4840|:1|' {folder["site"]}/washers/*.yaml
            """);
        return Path.Combine(folder["site"], "site.yaml");
    }

    /// <summary>What the unit starts, with another site file.</summary>
    internal Process Start(string site, params (string Name, string Value)[] environment)
    {
        var command = System.IO.File.ReadLines(Unit).Single(l => l.StartsWith("ExecStart=", StringComparison.Ordinal))["ExecStart=".Length..];
        Assert.Equal("/usr/bin/washbridge run /etc/washbridge/site.yaml", command);
        var start = new ProcessStartInfo(Path.Combine(Root, "usr", "bin", "washbridge"), ["run", site]) { WorkingDirectory = "/" };
        foreach (var (name, value) in environment)
        {
            start.Environment[name] = value;
        }

        return Process.Start(start)!;
    }
}
