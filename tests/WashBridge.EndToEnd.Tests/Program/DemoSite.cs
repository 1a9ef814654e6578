using System.Globalization;
using System.Net;
using System.Net.Sockets;
using WashBridge.Historian;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>The demonstration's site as files in a folder, with the ports on which simulated washers answer. All speak Modbus: it has no clock that hurried time could lead astray.</summary>
internal static class DemoSite
{
    public static string Store(TemporaryFolder folder) => folder["plant.washdb"];

    /// <param name="scans">The port for scans; null: none.</param>
    /// <returns>The site's file.</returns>
    public static string Write(TemporaryFolder folder, SimulationHost host, int? scans = null)
    {
        foreach (var (shipped, file) in Files(Path.Combine(AppContext.BaseDirectory, "config", "demo")).Concat(Files(Path.Combine(Repository.Root, "tests", "fixtures", "modbus-yard"))))
        {
            var text = File.ReadAllText(file);
            foreach (var (washer, hosted) in DemoScenario.Washers.Zip(host.Washers))
            {
                text = text.Replace(washer.Port.ToString(CultureInfo.InvariantCulture), hosted.Endpoint.Port.ToString(CultureInfo.InvariantCulture));
            }

            var target = Path.Combine(folder["site"], Path.GetRelativePath(shipped, file));
            Directory.CreateDirectory(Path.GetDirectoryName(target)!);
            File.WriteAllText(target, text);
        }

        var site = Path.Combine(folder["site"], "site.yaml");
        var lines = File.ReadLines(site).Where(line => line != "http:" && line != "  port: 15080").Select(line => line.Contains("path: ") ? $"  path: {Store(folder)}" : line).ToList();
        File.WriteAllLines(site, scans is { } port ? [.. lines, "http:", $"  port: {port}"] : lines);
        return site;
    }

    private static IEnumerable<(string Folder, string File)> Files(string folder) => Directory.GetFiles(folder, "*.yaml", SearchOption.AllDirectories).Select(file => (folder, file));

    /// <summary>Waits until the service has committed this many more entries.</summary>
    public static async Task GrownAsync(string store, long entries, CancellationToken deadline)
    {
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(50));
        var from = -1L;
        while (await look.WaitForNextTickAsync(deadline))
        {
            if (LastSequence(store) is not { } last)
            {
                continue;
            }

            from = from < 0 ? last : from;
            if (last >= from + entries)
            {
                return;
            }
        }
    }

    /// <summary>Waits until the service takes connections: it begins to record before that.</summary>
    public static async Task ListensAsync(int port, CancellationToken deadline)
    {
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(50));
        while (await look.WaitForNextTickAsync(deadline))
        {
            try
            {
                using var client = new TcpClient();
                await client.ConnectAsync(IPAddress.Loopback, port, deadline);
                return;
            }
            catch (SocketException)
            {
                // Not yet.
            }
        }
    }

    /// <summary>Null while the service has not made its file yet.</summary>
    private static long? LastSequence(string store)
    {
        try
        {
            using var reader = File.Exists(store) ? HistorianFile.OpenReader(store) : null;
            return reader?.LastSequence;
        }
        catch (HistorianException)
        {
            return null;
        }
    }
}
