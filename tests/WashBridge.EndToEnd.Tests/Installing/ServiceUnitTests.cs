using System.Globalization;
using System.Net.Sockets;
using System.Text;
using System.Text.RegularExpressions;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>The unit as systemd's own tools judge it, and the service as systemd would speak with it. No systemd runs here.</summary>
[Collection(nameof(Package))]
public sealed class ServiceUnitTests(Package package)
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(1)).Token;

    [Fact]
    public async Task Systemd_takes_the_unit_and_finds_it_little_exposed()
    {
        // The program is looked for where the unit says, in the package's root; what the unit comes after is systemd's own.
        await Shell.RunAsync($"cp --recursive --no-clobber /lib/systemd/system/. {Path.GetDirectoryName(package.Unit)}");
        Assert.Equal("", await Shell.RunAsync($"systemd-analyze verify --man=no --root={package.Root} washbridge.service"));
        var judged = await Shell.RunAsync($"systemd-analyze security --offline=yes --no-pager {package.Unit}");
        var exposure = double.Parse(Regex.Match(judged, @"Overall exposure level for washbridge.service: ([0-9.]+)").Groups[1].Value, CultureInfo.InvariantCulture);
        Assert.True(exposure <= 1.5, judged);
    }

    [Fact]
    public async Task The_service_says_when_it_is_ready_alive_and_stopping_and_the_health_command_agrees()
    {
        using var folder = new TemporaryFolder();
        using var socket = new Socket(AddressFamily.Unix, SocketType.Dgram, ProtocolType.Unspecified);
        socket.Bind(new UnixDomainSocketEndPoint(folder["notify"]));
        var site = await package.SiteAsync(folder);
        using var service = package.Start(site, ("NOTIFY_SOCKET", folder["notify"]), ("WATCHDOG_USEC", "1000000"));
        try
        {
            for (var said = ""; said != "READY=1"; said = await HearAsync(socket))
            {
                Assert.Contains(said, (string[])["", "WATCHDOG=1"]);
            }

            Assert.Equal("WATCHDOG=1", await HearAsync(socket));
            Assert.Equal("WATCHDOG=1", await HearAsync(socket));
            var healthy = await Shell.RunAsync($"until {package.Program} health {site}; do sleep 0.2; done", "/");
            Assert.Contains("s old; allowed: 120 s", healthy);
            await Shell.RunAsync($"kill -TERM {service.Id}");
            for (var said = ""; said != "STOPPING=1"; said = await HearAsync(socket))
            {
                Assert.Contains(said, (string[])["", "WATCHDOG=1"]);
            }

            await service.WaitForExitAsync(Deadline);
            Assert.Equal(0, service.ExitCode);
        }
        finally
        {
            service.Kill();
        }
    }

    [Fact]
    public async Task No_system_call_is_made_that_the_unit_refuses()
    {
        using var folder = new TemporaryFolder();
        var output = await Shell.RunAsync($$"""
            strace -f -qq -o calls {{package.Program}} demo --speed 60 --minutes 1 --history 0 --port 0 --store {{folder["d.washdb"]}} > said
            sed -nE 's/^[0-9]+ +([a-z0-9_]+)\(.*/\1/p' calls | sort -u > used
            systemd-analyze --no-pager syscall-filter > sets 2> unlisted
            cat used
            """, folder.Root);
        var sets = Sets(await File.ReadAllLinesAsync(folder["sets"], TestContext.Current.CancellationToken));
        var allowed = Flat(sets, "@system-service").Except(Flat(sets, "@privileged")).ToHashSet();
        var used = output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.True(used.Length > 50, output);

        // SQLite gives files their folder's owner, where it runs as root: the service does not (os_unix.c, robustFchown).
        Assert.Empty(used.Except(allowed).Except(["fchown"]));
    }

    private static async Task<string> HearAsync(Socket socket)
    {
        var heard = new byte[256];
        return Encoding.UTF8.GetString(heard, 0, await socket.ReceiveAsync(heard, Deadline));
    }

    private static Dictionary<string, List<string>> Sets(string[] lines)
    {
        var sets = new Dictionary<string, List<string>>();
        foreach (var line in lines.Select(l => Regex.Replace(l, @"\x1b\[[0-9;]*m", "")).Where(l => l.Length > 0))
        {
            if (line[0] == '@')
            {
                sets[line.Trim()] = [];
            }
            else if (line.TrimStart() is var name && name.Length > 0 && name[0] != '#' && sets.Count > 0)
            {
                sets.Last().Value.Add(name);
            }
        }

        return sets;
    }

    private static IEnumerable<string> Flat(Dictionary<string, List<string>> sets, string name) => sets[name].SelectMany(n => n[0] == '@' ? Flat(sets, n) : [n]);
}
