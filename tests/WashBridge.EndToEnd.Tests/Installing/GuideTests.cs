using System.Text.Json;
using System.Text.RegularExpressions;
using WashBridge.Benchmarks.Influx;
using WashBridge.Core.Time;
using WashBridge.EndToEnd.Tests.Grafana;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>The page for brewery IT, command by command, in its order.</summary>
[Collection(nameof(Package))]
public sealed class GuideTests(Package package)
{
    private const string Guide = "src/WashBridge/Installing/INSTALLING.md";

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
            foreach (var (kind, command) in Page.Commands(Guide, "## From nothing", "## Upgrade"))
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
                        var rows = Regex.Matches(output, @"\n0 +([0-9]+) +([0-9]+) +([0-9]+)\n");
                        var kegs = Enumerable.Range(1, 3).Select(column => rows.Sum(r => int.Parse(r.Groups[column].Value))).ToList();
                        Assert.True(kegs.Sum() > 0, output); // On a machine under load the demonstration has gaps: how many are proven depends on it.
                        await Grafana_shows_what_has_arrived_Async(Directory.CreateDirectory(folder["grafana"]).FullName, server.Url.Port, kegs);
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
        var commands = Page.Commands(Guide, "## Upgrade", "## Remove").Select(c => c.Command).ToList();
        var byHand = Regex.Match(File.ReadAllText(Path.Combine(Repository.Root, Guide)), "`sudo -u washbridge (washbridge verify FILE --upgrade)`").Groups[1].Value;
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

    /// <summary>Installs Grafana's files as their page says, in a folder that stands for its machine's root, and asks what a panel asks, of the server and the database that they name.</summary>
    private async Task Grafana_shows_what_has_arrived_Async(string root, int port, IReadOnlyList<int> kegs)
    {
        await Shell.RunAsync("mkdir -p etc/grafana/provisioning etc/default", root);
        foreach (var (kind, command) in Page.Commands("grafana/README.md", "## Set-up", "## InfluxDB 2.x"))
        {
            Assert.Equal("root", kind);
            if (!command.StartsWith("systemctl ", StringComparison.Ordinal))
            {
                await Shell.RunAsync(command.Replace("/usr/share", $"{package.Root}/usr/share", StringComparison.Ordinal).Replace("/etc/", $"{root}/etc/", StringComparison.Ordinal).Replace(":8086", $":{port}", StringComparison.Ordinal));
            }
        }

        // Grafana fills in its environment; what is not there is empty.
        var environment = File.ReadLines(Path.Combine(root, "etc/default/grafana-server")).Select(l => l.Split('=', 2)).ToDictionary(l => l[0], l => l[1]);
        string Provisioned(string file, string key) => Regex.Replace(
            Regex.Match(File.ReadAllText(Path.Combine(root, "etc/grafana/provisioning", file)), $@"^ *{key}: (.*)$", RegexOptions.Multiline).Groups[1].Value,
            @"\$\{(\w+)\}",
            m => environment.GetValueOrDefault(m.Groups[1].Value, ""));
        var (server, database) = (Provisioned("datasources/washbridge.yaml", "url"), Provisioned("datasources/washbridge.yaml", "dbName"));
        Assert.Equal("", Provisioned("datasources/washbridge.yaml", "user"));
        var files = Directory.GetFiles(Provisioned("dashboards/washbridge.yaml", "path"), "*.json");
        Assert.Equal(5, files.Length);
        Assert.DoesNotContain(files, f => File.ReadAllText(f).Contains("washbridge.example", StringComparison.Ordinal));

        // A dashboard that somebody opens right after it.
        var now = Instant.Floor(TimeProvider.System.GetUtcNow());
        using var http = new HttpClient();
        async Task<IReadOnlyList<IReadOnlyDictionary<string, JsonElement>>> Shown(string dashboard, string panel)
        {
            // Without a site there is nothing to choose, and nothing is shown.
            var site = Assert.Single(await AskAsync(Asked.Variables.Single(v => v.Where == $"{dashboard} / $site").Query))["value"].GetString()!;
            return await AskAsync(Asked.Panel(dashboard, panel).FilledIn(now - TimeSpan.FromHours(24), now, site: site));
        }

        async Task<IReadOnlyList<IReadOnlyDictionary<string, JsonElement>>> AskAsync(string query)
        {
            using var form = new FormUrlEncodedContent([new("q", query), new("db", database), new("epoch", "ms")]);
            using var answer = await http.PostAsync(new Uri(new Uri(server), "query"), form, Deadline);
            return Answer.Parse(await answer.Content.ReadAsStringAsync(Deadline), query).Rows;
        }

        var verdicts = Assert.Single(await Shown("washbridge-quality", "Kegs by verdict"));
        Assert.Equal(kegs, [.. new[] { "met", "not met", "not proven" }.Select(v => verdicts[v].GetInt32())]);
        Assert.NotEmpty(await Shown("washbridge-drains", "Cycles left of every component"));
        Assert.NotEmpty(await Shown("washbridge-now", "Is each washer read?"));
    }
}
