using System.CommandLine;
using System.Net;
using WashBridge.Commands;
using WashBridge.Protocols.Modbus;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;

namespace WashBridge.Tests.Checking;

/// <summary>The check command against simulated Modbus controllers on loopback, with the demonstration's configuration, in which the yard speaks Modbus too.</summary>
public sealed class CheckCommandTests : IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("washbridge-check-").FullName;
    private readonly List<ModbusServer> servers = [];

    public ValueTask InitializeAsync()
    {
        foreach (var source in new[] { Path.Combine(Repository.Root, "config/demo"), Path.Combine(Repository.Root, "tests/fixtures/modbus-yard") })
        {
            foreach (var file in Directory.GetFiles(source, "*.yaml", SearchOption.AllDirectories))
            {
                var copy = Path.Combine(folder, Path.GetRelativePath(source, file));
                Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
                File.Copy(file, copy, overwrite: true);
            }
        }

        foreach (var demo in DemoScenario.Washers)
        {
            var washer = new SimulatedWasher(demo.Options);
            washer.AdvanceTo(TimeSpan.FromSeconds(60));
            servers.Add(ModbusServer.Start(new IPEndPoint(IPAddress.Loopback, 0), washer.Registers));
            Replace($"washers/{demo.Options.Id}.yaml", $"port: {demo.Port}", $"port: {servers[^1].Endpoint.Port}");
        }

        return ValueTask.CompletedTask;
    }

    public async ValueTask DisposeAsync()
    {
        foreach (var server in servers)
        {
            await server.DisposeAsync();
        }

        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Every_tag_is_read_once_and_printed_with_what_it_means()
    {
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("2 of 2 washers answered; 92 tags good, 0 uncertain, 0 bad.", output, StringComparison.Ordinal);
        Assert.Contains("controller: Example, KW-SIM, 1.0", output, StringComparison.Ordinal);
        var lines = output.Split('\n');
        Assert.Matches(@"^sequence\.programme +holding-registers 1 +0001 +1 +good +[0-9.]+ ms +[0-9.]+ ms$", lines.Single(l => l.StartsWith("sequence.programme", StringComparison.Ordinal) && l.Contains("registers 1 ", StringComparison.Ordinal)));
        Assert.Matches(@"^setpoint\.sanitise\.hold +holding-registers 52 +015E +35 +s +good", lines.Single(l => l.StartsWith("setpoint.sanitise.hold", StringComparison.Ordinal)));
        Assert.Matches(@"^pressure\.co2 +input-registers 24 +[0-9A-F]{4} [0-9A-F]{4} +[0-9.]+ +bar\(a\) +good", lines.Single(l => l.StartsWith("pressure.co2", StringComparison.Ordinal)));
        Assert.Matches(@"^keg\.present station 4 +holding-registers 0 bit 6 +[0-9A-F]{4} +(true|false)  +good", lines.Single(l => l.StartsWith("keg.present station 4", StringComparison.Ordinal)));
        Assert.Contains("one drain sensor serves all stations", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_requirement_that_the_map_leaves_unjudgeable_is_named_without_connecting()
    {
        Replace("tag-maps/yard.yaml", "signal: temperature.caustic,", "signal: temperature.water,");
        var (code, output) = await CheckAsync("--offline");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("recipe plain-wash version 1: 5 of 6 requirements can be judged", output, StringComparison.Ordinal);
        Assert.Contains("hot-caustic: Cannot be judged: the map lacks temperature.caustic.", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_tag_that_the_controller_refuses_is_bad_and_the_others_are_read()
    {
        Replace("tag-maps/yard.yaml", "address: 41, type: int16", "address: 4100, type: int16");
        var (code, output) = await CheckAsync("--washer", "yard");
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Matches(@"pressure\.water +holding-registers 4100 +- +- +bar\(a\) +bad: exception 02, illegal data address", output);
        Assert.Contains("24 tags good, 0 uncertain, 1 bad.", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_value_outside_its_limits_is_uncertain_and_no_error()
    {
        Replace("tag-maps/yard.yaml", "{signal: temperature.caustic,", "{signal: temperature.caustic, minimum: 900,");
        var (code, output) = await CheckAsync("--washer", "yard");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("uncertain: below the minimum of the tag map", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_washer_that_cannot_be_reached_is_a_device_error_and_the_other_is_still_read()
    {
        await servers[1].DisposeAsync();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains("nothing could be read: cannot connect to 127.0.0.1:", output, StringComparison.Ordinal);
        Assert.Contains("1 of 2 washers answered; 67 tags good", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Configuration_errors_are_all_printed_and_nothing_is_connected()
    {
        Replace("washers/yard.yaml", "stations: 4", "stations: 40");
        Replace("washers/north.yaml", "kind: purge", "kind: urge");
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("north.yaml:19:26: programme[7].kind: this is none of the choices (did you mean purge?)", output, StringComparison.Ordinal);
        Assert.Contains("yard.yaml:5:11: stations: this number is out of range; found 40; allowed: a whole number from 1 to 8", output, StringComparison.Ordinal);
        Assert.EndsWith("2 problems.\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_washer_that_the_site_lacks_is_refused()
    {
        var (code, output) = await CheckAsync("--washer", "south");
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("found south; allowed: north, yard", output, StringComparison.Ordinal);
    }

    private async Task<(int Code, string Output)> CheckAsync(params string[] options)
    {
        var writer = new StringWriter { NewLine = "\n" };
        var code = await CheckCommand.Create(TimeProvider.System).Parse([Path.Combine(folder, "site.yaml"), .. options])
            .InvokeAsync(new InvocationConfiguration { Output = writer, Error = writer }, TestContext.Current.CancellationToken);
        return (code, writer.ToString());
    }

    private void Replace(string file, string text, string by)
    {
        var path = Path.Combine(folder, file);
        var before = File.ReadAllText(path);
        Assert.Contains(text, before, StringComparison.Ordinal);
        File.WriteAllText(path, before.Replace(text, by, StringComparison.Ordinal));
    }
}
