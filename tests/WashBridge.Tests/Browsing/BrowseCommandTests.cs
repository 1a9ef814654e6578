using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Configuration;
using WashBridge.Configuration.Binding;
using WashBridge.Configuration.Yaml;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Tests.OpcUa;

namespace WashBridge.Tests.Browsing;

/// <summary>The browse command against our own server in the part of a controller.</summary>
public sealed class BrowseCommandTests : IAsyncLifetime
{
    private readonly ControllerOnLoopback controller = new();

    public async ValueTask InitializeAsync()
    {
        var space = controller.Space;
        var line = space.AddObject(space.Objects, controller.Id("Line"), "Line", "Keg line");
        Add(line, "Line.Step", "Step", new VariableDefinition(BuiltInType.UInt16) { DisplayName = "Sequence step", InitialValue = (ushort)20 });
        var baths = space.AddFolder(line, controller.Id("Line.Baths"), "Baths");
        var caustic = space.AddObject(baths, controller.Id("Line.Baths.Caustic"), "Caustic");
        Add(caustic, "Line.Baths.Caustic.T", "Temperature", new VariableDefinition(BuiltInType.Float) { Unit = Units.Celsius, InitialValue = 71.25f });
        Add(caustic, "Line.Baths.Caustic.P", "Pump \"A\"\u0007", new VariableDefinition(BuiltInType.Boolean) { InitialValue = true });
        var station = space.AddObject(line, controller.Id("Line.St1"), "Station 1");
        Add(station, "Line.St1.Keg", "Keg present", new VariableDefinition(BuiltInType.Boolean) { InitialValue = true });
        Add(station, "Line.St1.P", "Keg pressure", new VariableDefinition(BuiltInType.Double) { Unit = Units.Unece("KPA", "kPa", "kilopascal"), InitialValue = 120d });
        await controller.StartAsync();
        controller.Trust();

        void Add(UaNode parent, string id, string name, VariableDefinition definition) => space.AddVariable(parent, controller.Id(id), name, definition);
    }

    public ValueTask DisposeAsync() => controller.DisposeAsync();

    [Fact]
    public async Task Variables_are_listed_with_type_value_unit_and_a_node_id_that_stays()
    {
        var (code, output, _) = await BrowseAsync(controller.Site);
        Assert.Equal(ExitCodes.Success, code);
        Assert.Matches(@"\nKeg line / Sequence step +UInt16 +20 +nsu=urn:example:washer;s=Line\.Step\n", output);
        Assert.Matches(@"\nKeg line / Baths / Caustic / Temperature +Float +71\.25 +°C +nsu=urn:example:washer;s=Line\.Baths\.Caustic\.T\n", output);
        Assert.Contains("10 nodes seen, 5 variables.\n", output, StringComparison.Ordinal);

        // Properties such as EngineeringUnits and the server's own nodes would bury what is looked for.
        Assert.DoesNotContain("EngineeringUnits", output, StringComparison.Ordinal);
        Assert.DoesNotContain("ServerStatus", output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(new[] { "caustic" }, 2)]
    [InlineData(new[] { "CAUSTIC", "temp" }, 1)]
    [InlineData(new[] { "Line.St1" }, 2)]
    [InlineData(new[] { "nothing of the kind" }, 0)]
    public async Task A_search_finds_by_names_above_and_by_node_id_whatever_the_capitals(string[] texts, int count)
    {
        var (code, output, _) = await BrowseAsync([controller.Site, .. texts.SelectMany(t => new[] { "--find", t })]);
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains($"10 nodes seen, 5 variables, {count} with \"{texts[0]}\"", output, StringComparison.Ordinal);
        Assert.Equal(count, output.Split('\n').Count(l => l.Contains("nsu=", StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData("nsu=urn:example:washer;s=Line.St1", "Keg present")]
    [InlineData("ns=2;s=Line.St1", "Keg present")]
    [InlineData("/2:Line/2:Station 1", "Keg present")]
    [InlineData("i=2253", "ServerStatus / CurrentTime")]
    public async Task A_walk_may_begin_at_any_node(string below, string expected)
    {
        var (code, output, _) = await BrowseAsync(controller.Site, "--below", below);
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains($"\n{expected} ", output, StringComparison.Ordinal);
        Assert.DoesNotContain("Temperature", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_walk_ends_at_its_limit_and_says_so()
    {
        var (code, output, _) = await BrowseAsync(controller.Site, "--limit", "4");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("4 nodes seen,", output, StringComparison.Ordinal);
        Assert.Contains("There is more: the walk ended at 4 nodes (--limit).", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_YAML_is_a_tag_map_that_the_loader_takes_and_names_every_guess()
    {
        var (code, output, errors) = await BrowseAsync(controller.Site, "--yaml");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("namespaces:\n  washer: urn:example:washer\n", output, StringComparison.Ordinal);
        Assert.Contains("  # Keg line / Baths / Caustic / Temperature: Float, 71.25 °C\n  #    signal: guessed from \"temperature\", \"caustic\"\n  - {signal: temperature.caustic, group: 1, node: ns=washer;s=Line.Baths.Caustic.T}\n", output, StringComparison.Ordinal);
        Assert.Contains("  - {signal: sequence.step, group: 0, node: ns=washer;s=Line.Step}\n", output, StringComparison.Ordinal);
        Assert.Contains("  - {signal: keg.present, station: 1, group: 0, node: ns=washer;s=Line.St1.Keg}\n", output, StringComparison.Ordinal);
        Assert.Contains("  - {signal: pressure.keg, station: 1, group: 1, node: ns=washer;s=Line.St1.P, scale: 0.01, offset: 1.01325}\n", output, StringComparison.Ordinal);
        Assert.Contains("  # OPEN, Keg line / Baths / Caustic / Pump \"A\" : Boolean, true\n", output, StringComparison.Ordinal);
        Assert.Contains("10 nodes seen", errors, StringComparison.Ordinal);
        Assert.DoesNotContain("nodes seen", output, StringComparison.Ordinal);

        var problems = new ProblemList();
        var map = MapBinder.Of(YamlReader.Read("map", output, problems), problems)!;
        PollGroup[] groups = [new(0, "a", default, default), new(1, "b", default, default)];
        var tags = TagMapBinder.Bind(map, new TagContext("w", 8, groups, IsOpcUa: true)).Tags;
        Assert.Empty(problems.Sorted([]));
        Assert.Equal(4, tags.Count);
    }

    [Fact]
    public async Task A_signal_that_two_variables_could_be_is_mapped_once_and_left_open_once()
    {
        var space = controller.Space;
        space.AddVariable(space.Find(controller.Id("Line"))!, controller.Id("Line.Step2"), "Step code", new VariableDefinition(BuiltInType.UInt16) { InitialValue = (ushort)1 });
        var (_, output, _) = await BrowseAsync(controller.Site, "--yaml", "--find", "step");
        Assert.Single(output.Split('\n'), l => l.StartsWith("  - {signal: sequence.step", StringComparison.Ordinal));
        Assert.Single(output.Split('\n'), l => l.StartsWith("  # - {signal: sequence.step", StringComparison.Ordinal));
        Assert.Contains("already maps this signal", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_address_needs_no_site_and_keeps_its_certificates_where_it_is_told()
    {
        var pki = Path.Combine(Path.GetDirectoryName(controller.Site)!, "certificates");
        var (code, output, _) = await BrowseAsync($"{controller.Endpoint}", "--pki", pki);
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("5 variables.", output, StringComparison.Ordinal);
        Assert.Equal(ExitCodes.Success, (await BrowseAsync($"{controller.Endpoint}", "--security-mode", "None", "--pki", pki)).Code);
    }

    [Fact]
    public async Task A_server_that_is_not_trusted_is_refused_with_the_command_that_trusts_it()
    {
        controller.BridgeStore.Reject(controller.Thumbprint);
        var (code, output, errors) = await BrowseAsync(controller.Site);
        Assert.Equal((ExitCodes.DeviceErrors, ""), (code, output));
        Assert.Contains($"washbridge certificates trust {controller.Site} {controller.Thumbprint[..8]}", errors, StringComparison.Ordinal);
    }

    [Fact]
    public async Task With_an_address_the_folder_of_certificates_takes_the_part_of_the_site()
    {
        var pki = Path.Combine(Path.GetDirectoryName(controller.Site)!, "own-pki");
        var (code, _, errors) = await BrowseAsync($"{controller.Endpoint}", "--pki", pki);
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains($"washbridge certificates trust {pki} {controller.Thumbprint[..8]}", errors, StringComparison.Ordinal);
        var writer = new StringWriter();
        Assert.Equal(ExitCodes.Success, CertificatesCommand.Create(TimeProvider.System).Parse(["trust", pki, controller.Thumbprint[..8]]).Invoke(new InvocationConfiguration { Output = writer, Error = writer }));
        controller.Store.SaveRejected(File.ReadAllBytes(Path.Combine(pki, "own/certs/application.der")));
        controller.Store.Trust(Assert.Single(controller.Store.List(), c => c.State == Protocols.OpcUa.Security.StoredState.Rejected).Thumbprint);
        Assert.Equal(ExitCodes.Success, (await BrowseAsync($"{controller.Endpoint}", "--pki", pki)).Code);
    }

    [Fact]
    public async Task What_is_wrong_on_the_command_line_is_said_with_what_is_allowed()
    {
        foreach (var (arguments, expected) in new (string[], string)[]
        {
            ([controller.Site, "--washer", "w33"], "--washer: no such washer is read by OPC UA (did you mean w3?); found w33; allowed: w3\n"),
            ([controller.Site, "--limit", "0"], "--limit: found '0'; allowed: a whole number from 1 to 200000"),
            ([controller.Site, "--below", "Line"], "--below: this is no node id; found \"Line\"; allowed: a node id such as ns=w;s=Washer1.Phase"),
            ([controller.Site, "--below", "ns=2;s=Nowhere"], "--below: BadNodeIdUnknown"),
            ([controller.Site, "--below", "/2:Nowhere"], "--below: BadNoMatch"),
            ([controller.Site, "--security-mode", "None"], "--security-mode belongs to an address"),
            (["opc.tcp://127.0.0.1:1", "--washer", "w3"], "--washer belongs to a site file"),
            (["opc.tcp://127.0.0.1:1", "--security-mode", "none"], "security-mode: there is no such security mode (did you mean None?); found \"none\"; allowed: None, Sign, SignAndEncrypt\n"),
            (["http://127.0.0.1:1"], "endpoint: this is no address of an OPC UA server; found \"http://127.0.0.1:1\"; allowed: opc.tcp://HOST:PORT"),
            (["no/such/site.yaml"], "no/such/site.yaml:1:1: there is no such file"),
        })
        {
            var (code, _, errors) = await BrowseAsync(arguments);
            Assert.Equal(ExitCodes.ConfigurationErrors, code);
            Assert.StartsWith(expected, errors, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_server_that_cannot_be_reached_is_a_device_error()
    {
        var (code, _, errors) = await BrowseAsync("opc.tcp://127.0.0.1:1", "--pki", Path.Combine(Path.GetDirectoryName(controller.Site)!, "certificates"));
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.StartsWith("opc.tcp://127.0.0.1:1/: ", errors, StringComparison.Ordinal);
    }

    private static async Task<(int Code, string Output, string Errors)> BrowseAsync(params string[] arguments)
    {
        var (output, errors) = (new StringWriter { NewLine = "\n" }, new StringWriter { NewLine = "\n" });
        var code = await BrowseCommand.Create(TimeProvider.System).Parse(arguments)
            .InvokeAsync(new InvocationConfiguration { Output = output, Error = errors }, TestContext.Current.CancellationToken);
        return (code, output.ToString(), errors.ToString());
    }
}
