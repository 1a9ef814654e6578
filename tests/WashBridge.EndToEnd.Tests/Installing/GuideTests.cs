using System.Text.RegularExpressions;
using WashBridge.Benchmarks.Influx;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>The page for brewery IT, command by command, in its order.</summary>
[Collection(nameof(Package))]
public sealed class GuideTests(Package package)
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    [Fact]
    public async Task Every_command_from_nothing_to_a_dashboards_data_works()
    {
        using var folder = new TemporaryFolder();
        await using var server = await InfluxServer.StartAsync(Deadline);
        var site = await package.SiteAsync(folder);
        await Shell.RunAsync($"""
            mkdir bin
            ln -s {package.Root}/usr/bin/washbridge bin/washbridge
            printf '#!/bin/sh\nexec /usr/bin/influx -port {server.Url.Port} "$@"\n' > bin/influx
            chmod +x bin/influx
            """, folder.Root);

        var ran = new List<string>();
        System.Diagnostics.Process? service = null;
        try
        {
            foreach (var (kind, command) in Commands())
            {
                if (command == "systemctl enable --now washbridge")
                {
                    // As root, by systemd: here what it would start.
                    service = package.Start(site);
                    await Shell.RunAsync($"until {package.Program} health {site}; do sleep 0.2; done", folder.Root);
                }
                else if (kind == "")
                {
                    var here = command.Replace(":8086", $":{server.Url.Port}", StringComparison.Ordinal).Replace("/etc/washbridge/site.yaml", site, StringComparison.Ordinal).Replace("/var/lib/washbridge", folder.Root, StringComparison.Ordinal);
                    ran.Add(command);
                    if (Package.Build.Contains(command + "\n", StringComparison.Ordinal))
                    {
                        continue; // The package was built by it.
                    }

                    var output = await Shell.RunAsync(here, folder.Root, folder["bin"]);
                    if (command.Contains("wash_keg", StringComparison.Ordinal))
                    {
                        Assert.Matches("tags: washer=(north|yard)", output);
                        Assert.Matches(@"\n[0-9]+ +[0-9]+\n", output);
                    }
                }
            }

            Assert.Equal(8, ran.Count);
            await Shell.RunAsync($"kill -TERM {service!.Id}");
            await service.WaitForExitAsync(Deadline);
            Assert.Equal(0, service.ExitCode);
        }
        finally
        {
            service?.Kill();
        }
    }

    /// <summary>The lines of shell blocks with what the block is marked with, up to the next chapter.</summary>
    private static IEnumerable<(string Kind, string Command)> Commands()
    {
        var page = File.ReadAllText(Path.Combine(Repository.Root, "src", "WashBridge", "Installing", "INSTALLING.md"));
        var chapter = page[page.IndexOf("## From nothing", StringComparison.Ordinal)..page.IndexOf("## Upgrade", StringComparison.Ordinal)];
        return from Match block in Regex.Matches(chapter, "```sh ?([a-z]*)\n(.*?)```", RegexOptions.Singleline)
               from line in block.Groups[2].Value.Split('\n', StringSplitOptions.RemoveEmptyEntries)
               select (block.Groups[1].Value, line);
    }
}
