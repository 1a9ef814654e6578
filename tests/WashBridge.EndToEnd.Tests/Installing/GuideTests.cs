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
            foreach (var (kind, command) in Commands("## From nothing", "## Upgrade"))
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

    [Fact]
    public async Task Every_command_of_the_upgrade_works_on_an_older_package_with_a_store_of_the_first_format()
    {
        var commands = Commands("## Upgrade", "## Remove").Select(c => c.Command).ToList();
        var byHand = Regex.Match(Page, "`sudo -u washbridge (washbridge verify FILE --upgrade)`").Groups[1].Value;
        Assert.Equal((4, "systemctl"), (commands.Count, commands[^1].Split(' ')[0]));

        // dpkg works in a folder in place of apt, and what the unit starts is started in place of systemd: both as the commands say.
        var output = await DebianRoot.RunAsync($$"""
            systemctl() {
              [ "$2" = washbridge ]
              if [ "$1" = start ]; then
                "$PWD/root/usr/bin/washbridge" run "$PWD/root/etc/washbridge/site.yaml" > said.txt 2>&1 &
                service=$!
                until grep -q 'Application started' said.txt && root/usr/bin/washbridge health root/etc/washbridge/site.yaml; do kill -0 $service || { cat said.txt; return 1; }; sleep 0.3; done
              elif [ "$1" = stop ] && [ -n "${service:-}" ]; then
                kill -TERM $service
                wait $service
                service=
              fi
            }
            trap '[ -z "${service:-}" ] || kill $service' EXIT
            apt() { [ "$1" = install ]; dpkg --install "{{Repository.Root}}/$2"; }
            washbridge() { root/usr/bin/washbridge "$@"; }

            {{Repository.Root}}/src/WashBridge/Installing/package-debian --version 0.0.1
            dpkg --install {{Repository.Root}}/artifacts/washbridge_0.0.1_amd64.deb
            rm {{Repository.Root}}/artifacts/washbridge_0.0.1_amd64.deb
            sed -i "s|/var/lib/washbridge|$PWD/root/var/lib/washbridge|" root/etc/washbridge/site.yaml
            sed -i -e 's|192.0.2.[0-9]*|127.0.0.1|' -e 's|port: 502$|port: 1|' -e 's|:4840|:1|' root/etc/washbridge/washers/*.yaml
            gunzip < {{UpgradeTests.Packed("format-1.washdb")}} > root/var/lib/washbridge/washers.washdb
            owner=$(grep '^washbridge:' root/etc/passwd | cut -d : -f 3)
            chown $owner root/var/lib/washbridge/washers.washdb
            {{string.Join('\n', commands).Replace("/var/lib", "root/var/lib", StringComparison.Ordinal)}}
            [ "$(dpkg-query --admindir=root/var/lib/dpkg -W -f '${Version}' washbridge)" != 0.0.1 ]
            systemctl stop washbridge
            cat said.txt
            copy=root/var/lib/washbridge-before-upgrade/washers.washdb
            [ "$(stat -c %u $copy ${copy%/*} | uniq)" = $owner ]
            cmp $copy <(gunzip < {{UpgradeTests.Packed("format-1.washdb")}})
            {{byHand.Replace("FILE", "$copy", StringComparison.Ordinal)}}
            washbridge verify root/var/lib/washbridge/washers.washdb --all
            """);
        Assert.Matches(@"\[2005\]\s.*/lib/washbridge/washers.washdb: brought from version 1 of its format to version ", output);
        Assert.Contains("-before-upgrade/washers.washdb: brought from version 1 of its format to version ", output);
        Assert.EndsWith("all of it matches its checksums.\n", output, StringComparison.Ordinal);
    }

    private static string Page => File.ReadAllText(Path.Combine(Repository.Root, "src", "WashBridge", "Installing", "INSTALLING.md"));

    /// <summary>The lines of shell blocks with what the block is marked with, from one heading to another.</summary>
    private static IEnumerable<(string Kind, string Command)> Commands(string from, string until)
    {
        var chapter = Page[Page.IndexOf(from, StringComparison.Ordinal)..Page.IndexOf(until, StringComparison.Ordinal)];
        return from Match block in Regex.Matches(chapter, "```sh ?([a-z]*)\n(.*?)```", RegexOptions.Singleline)
               from line in block.Groups[2].Value.Split('\n', StringSplitOptions.RemoveEmptyEntries)
               select (block.Groups[1].Value, line);
    }
}
