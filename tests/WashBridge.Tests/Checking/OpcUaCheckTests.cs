using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Tests.OpcUa;

namespace WashBridge.Tests.Checking;

/// <summary>The check command against our own server in the part of a controller.</summary>
public sealed class OpcUaCheckTests : IAsyncLifetime
{
    private readonly ControllerOnLoopback controller = new();

    public ValueTask InitializeAsync()
    {
        var space = controller.Space;
        Add("Step", BuiltInType.UInt16, (ushort)20);
        Add("Status", BuiltInType.UInt32, 0b100u);
        space.AddVariable(space.Objects, controller.Id("Kegs"), "Kegs", new VariableDefinition(BuiltInType.Boolean) { ValueRank = 1, InitialValue = Variant.ArrayOf(new[] { true, false }) });
        space.AddVariable(space.Objects, controller.Id("Bath"), "Bath", new VariableDefinition(BuiltInType.Float) { Unit = Units.Unece("FAH", "°F", "degree Fahrenheit"), InitialValue = 158f });
        Add("Code", BuiltInType.String, "K-0042");
        controller.Map(
            "signal: sequence.step, group: 0, node: ns=w;s=Step",
            "signal: sequence.fault, group: 0, node: ns=w;s=Status, bit: 2",
            "signal: keg.present, station: 1, group: 0, node: ns=w;s=Kegs, index: 0",
            "signal: keg.present, station: 2, group: 0, node: /w:Kegs, index: 1, invert: true",
            "signal: keg.id, station: 1, group: 1, node: ns=w;s=Code",
            "signal: temperature.caustic, group: 1, node: ns=w;s=Bath, scale: 0.5555556, offset: -17.7777778");
        return ValueTask.CompletedTask;
    }

    public ValueTask DisposeAsync() => controller.DisposeAsync();

    [Fact]
    public async Task Every_tag_is_read_once_and_printed_with_what_it_means()
    {
        await controller.StartAsync();
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("1 of 1 washers answered; 6 tags good, 0 uncertain, 0 bad.", output, StringComparison.Ordinal);
        Assert.Matches(@"\nsequence\.step +ns=w;s=Step +UInt16 +20 +20 +good +[0-9.]+ (ms|s)\n", output);
        Assert.Matches(@"\nsequence\.fault +ns=w;s=Status bit 2 +UInt32 +4 +true +good", output);
        Assert.Matches(@"\nkeg\.present station 1 +ns=w;s=Kegs\[0\] +Boolean\[2\] +true +true +good", output);
        Assert.Matches(@"\nkeg\.present station 2 +/w:Kegs\[1\] +Boolean\[2\] +false +true +good", output);
        Assert.Matches(@"\nkeg\.id station 1 +ns=w;s=Code +String +""K-0042"" +""K-0042"" +good", output);
        Assert.Matches(@"\ntemperature\.caustic +ns=w;s=Bath +Float +158 +70(\.0+1)? +Cel +good", output);
        Assert.DoesNotContain("note:", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_the_server_offers_and_what_is_used_is_told()
    {
        await controller.StartAsync();
        controller.Trust();
        var (_, output) = await CheckAsync();
        Assert.Contains("is Washer 3, urn:example:washer-3, as server-uri asks for\n", output, StringComparison.Ordinal);
        Assert.Contains("  offers Basic256Sha256 with Sign; users: anonymous\n", output, StringComparison.Ordinal);
        Assert.Contains("  offers no security (None); users: anonymous\n", output, StringComparison.Ordinal);
        Assert.Contains($"  certificate {controller.Thumbprint}, CN=Washer 3, valid to ", output, StringComparison.Ordinal);
        Assert.Contains("  uses Aes256_Sha256_RsaPss with SignAndEncrypt as anonymous\n", output, StringComparison.Ordinal);
        Assert.Matches(@"\n  its clock is (between [0-9.]+ ms behind and [0-9.]+ ms ahead of|[0-9.]+ ms to [0-9.]+ ms (ahead of|behind)) ours\n", output);
        Assert.Matches(@"\n  limits: [0-9]+ nodes a read, [0-9]+ a browse, [0-9]+ items a call; a lost session is kept for 30 s\n", output);
    }

    [Fact]
    public async Task An_unknown_certificate_is_refused_with_the_command_that_trusts_it_and_then_accepted()
    {
        await controller.StartAsync();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains("CN=Washer 3, valid to ", output, StringComparison.Ordinal);
        Assert.Contains(": refused\n", output, StringComparison.Ordinal);
        Assert.Contains("nothing could be read: BadCertificateUntrusted", output, StringComparison.Ordinal);
        var command = $"certificates trust {controller.Site} {controller.Thumbprint[..8]}";
        Assert.Contains($"washbridge {command}", output, StringComparison.Ordinal);

        var writer = new StringWriter { NewLine = "\n" };
        CertificatesCommand.Create(TimeProvider.System).Parse(command["certificates ".Length..]).Invoke(new InvocationConfiguration { Output = writer, Error = writer });
        (code, output) = await CheckAsync();

        // Now the controller does not know us: the check tells which file it must be given.
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains(": accepted\n", output, StringComparison.Ordinal);
        Assert.Contains("if the controller refuses our certificate: it must trust ", output, StringComparison.Ordinal);
        Assert.Contains("own/certs/application.der", output, StringComparison.Ordinal);
        controller.Store.Trust(Assert.Single(controller.Store.List(), c => c.State == Protocols.OpcUa.Security.StoredState.Rejected).Thumbprint);
        Assert.Equal(ExitCodes.Success, (await CheckAsync()).Code);
    }

    [Theory]
    [InlineData("signal: pressure.water, group: 1, node: ns=w;s=Nowhere", @"ns=w;s=Nowhere +- +- +- +bar\(a\) +bad: the server has no such node")]
    [InlineData("signal: pressure.water, group: 1, node: /w:Baths/w:Nowhere", "bad: BadNoMatch: the path leads nowhere; browse --find NAME shows where a name is")]
    [InlineData("signal: pressure.water, group: 1, node: 'nsu=urn:nowhere;s=Bath'", "bad: the server has no such namespace; it has .*2: urn:example:washer")]
    [InlineData("signal: pressure.water, group: 1, node: /Server", "bad: the node is no variable: it has no value")]
    [InlineData("signal: pressure.water, group: 1, node: ns=w;s=Code", "bad: String does not fit a signal that is a measured quantity")]
    [InlineData("signal: sequence.cycle-count, group: 0, node: ns=w;s=Bath", "bad: Float does not fit a signal that is a whole number")]
    [InlineData("signal: valve.drain, group: 0, node: ns=w;s=Bath", "bad: Float does not fit a signal that is true or false")]
    [InlineData("signal: valve.drain, group: 0, node: ns=w;s=Step, bit: 16", "bad: UInt16 has bits 0 to 15")]
    [InlineData("signal: valve.drain, group: 0, node: ns=w;s=Bath, bit: 1", "bad: Float has no bits: leave bit out")]
    [InlineData("signal: valve.drain, group: 0, node: ns=w;s=Kegs", "bad: it is an array of 2: index must tell which element")]
    [InlineData("signal: valve.drain, group: 0, node: ns=w;s=Kegs, index: 2", "bad: there is no element 2; the array has 2, counted from 0")]
    [InlineData("signal: valve.drain, group: 0, node: ns=w;s=Step, index: 0", "bad: it is one UInt16, not an array: leave index out")]
    public async Task A_tag_that_does_not_fit_is_bad_with_the_reason_and_the_others_are_read(string tag, string expected)
    {
        controller.Map("signal: sequence.step, group: 0, node: ns=w;s=Step", tag);
        await controller.StartAsync();
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Matches(expected, output);
        Assert.Contains("1 tags good, 0 uncertain, 1 bad.", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_bad_status_of_the_server_is_the_tags_quality()
    {
        ((UaVariable)controller.Space.Find(controller.Id("Bath"))!).Set(default, StatusCodes.BadSensorFailure);
        await controller.StartAsync();
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Matches("temperature.caustic .* bad: the server says BadSensorFailure", output);
    }

    [Fact]
    public async Task A_unit_that_scale_and_offset_do_not_bring_to_the_signals_is_noted()
    {
        controller.Map("signal: sequence.step, group: 0, node: ns=w;s=Step", "signal: temperature.caustic, group: 1, node: ns=w;s=Bath");
        await controller.StartAsync();
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("note: temperature.caustic: the server says °F, the signal is kept in Cel: scale: 0.5555556, offset: -17.77778 leads there; found scale: 1, offset: 0\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_node_with_a_namespace_index_is_noted_with_the_form_that_stays()
    {
        controller.Map("signal: sequence.step, group: 0, node: ns=2;s=Step");
        await controller.StartAsync();
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("nsu=urn:example:washer;s=Step stays\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_server_that_samples_more_slowly_than_the_group_asks_is_noted()
    {
        controller.Space.AddVariable(controller.Space.Objects, controller.Id("Slow"), "Slow", new VariableDefinition(BuiltInType.Double) { MinimumSamplingInterval = TimeSpan.FromSeconds(5), InitialValue = 1d });
        controller.Map("signal: sequence.step, group: 0, node: ns=w;s=Step", "signal: pressure.water, group: 1, node: ns=w;s=Slow");
        await controller.StartAsync();
        controller.Trust();
        var (_, output) = await CheckAsync();
        Assert.Contains("note: pressure.water: the server looks at it no more often than every 5 s, its poll group asks for 2 s\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Another_server_than_the_configured_one_is_refused()
    {
        controller.Replace("washers/w3.yaml", "server-uri: urn:example:washer-3", "server-uri: urn:example:washer-4");
        await controller.StartAsync();
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains("is the server \"urn:example:washer-3\"; the configuration expects \"urn:example:washer-4\"", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_policy_that_the_server_does_not_offer_is_refused_with_what_it_offers()
    {
        controller.Replace("washers/w3.yaml", "server-uri: urn:example:washer-3", "security-policy: Aes256_Sha256_RsaPss");
        await controller.StartAsync(o => o with { Endpoints = [new ServerEndpoint(Protocols.OpcUa.Security.SecurityPolicy.Basic256Sha256, Protocols.OpcUa.Security.MessageSecurityMode.SignAndEncrypt)] });
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains("does not offer Aes256_Sha256_RsaPss with SignAndEncrypt; it offers Basic256Sha256 with SignAndEncrypt", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task No_security_works_where_it_is_asked_for_by_name_and_is_warned_of()
    {
        controller.Replace("washers/w3.yaml", "server-uri: urn:example:washer-3", "security-mode: None");
        await controller.StartAsync();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.Success, code);
        Assert.Matches(@"\nwarning: .*w3\.yaml:6:18: connection\.security-mode: nothing protects this connection", output);
        Assert.Contains("  uses no security (None) as anonymous\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_wrong_password_is_told()
    {
        controller.Replace("washers/w3.yaml", "  server-uri: urn:example:washer-3\n", "  user: bridge\n  secret: {file: ../site.yaml}\n");
        await controller.StartAsync(o => o with { Users = new NobodyKnown() });
        controller.Trust();
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains("nothing could be read: BadUserAccessDenied", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_server_that_cannot_be_reached_is_a_device_error()
    {
        controller.Replace("washers/w3.yaml", "opc.tcp://washer3.example/line", "opc.tcp://127.0.0.1:1");
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.DeviceErrors, code);
        Assert.Contains("nothing could be read: ", output, StringComparison.Ordinal);
        Assert.Contains("127.0.0.1:1", output, StringComparison.Ordinal);
        Assert.Contains("0 of 1 washers answered", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_folder_of_certificates_that_cannot_be_made_is_told()
    {
        controller.Replace("site.yaml", "pki: certificates", "pki: washers/w3.yaml");
        var (code, output) = await CheckAsync();
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("w3.yaml cannot be made", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Offline_nothing_is_connected()
    {
        var (code, output) = await CheckAsync("--offline");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("w3: washer, 2 stations, 6 tags", output, StringComparison.Ordinal);
        Assert.False(Directory.Exists(Path.Combine(Path.GetDirectoryName(controller.Site)!, "certificates")));
    }

    private void Add(string name, BuiltInType type, Variant value) =>
        controller.Space.AddVariable(controller.Space.Objects, controller.Id(name), name, new VariableDefinition(type) { InitialValue = value });

    private async Task<(int Code, string Output)> CheckAsync(params string[] options)
    {
        var writer = new StringWriter { NewLine = "\n" };
        var code = await CheckCommand.Create(TimeProvider.System).Parse([controller.Site, .. options])
            .InvokeAsync(new InvocationConfiguration { Output = writer, Error = writer }, TestContext.Current.CancellationToken);
        return (code, writer.ToString());
    }

    private sealed class NobodyKnown : IUserDirectory
    {
        public bool HasPasswords => true;

        public bool HasCertificates => false;

        public ValueTask<bool> IsPasswordAsync(string user, string password, CancellationToken cancellation) => ValueTask.FromResult(false);

        public ValueTask<string?> FindUserAsync(ReadOnlyMemory<byte> certificate, CancellationToken cancellation) => ValueTask.FromResult<string?>(null);
    }
}
