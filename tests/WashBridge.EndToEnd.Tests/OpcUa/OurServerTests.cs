using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>A node-opcua client against our server: every policy, mode and identity, certificates of every kind, and what it browses and reads.</summary>
[Collection(OpcUaCollection.Name)]
public sealed class OurServerTests(OurServerFixture fixture)
{
    private static readonly object Named = new { user = "keg", password = "washer" };

    private OpcUaPeerClient Client => fixture.Client;

    private OurServer Server => fixture.Server;

    [Fact]
    public async Task Its_endpoints_are_all_that_was_configured()
    {
        var endpoints = (await Client.DoAsync(new { @do = "endpoints", url = Server.Url }))["endpoints"]!.AsArray();
        string[] offered = [.. endpoints.Select(e => $"{e!["policy"]} {e["mode"]}").Order(StringComparer.Ordinal)];
        string[] configured =
        [
            .. SecurityPolicy.All.SelectMany(p => p.IsNone ? ["None None"] : new[] { $"{p} Sign", $"{p} SignAndEncrypt" }).Order(StringComparer.Ordinal),
        ];
        Assert.Equal(configured, offered);
        Assert.All(endpoints, e => Assert.Equal(["Anonymous", "Certificate", "UserName"], e!["tokens"]!.AsArray().Select(t => (string)t!["type"]!).Distinct().Order(StringComparer.Ordinal)));
        var servers = (await Client.DoAsync(new { @do = "servers", url = Server.Url }))["servers"]!.AsArray();
        Assert.Equal("urn:washbridge:tests:ours", (string?)Assert.Single(servers)!["applicationUri"]);
    }

    [Theory]
    [MemberData(nameof(OurClientSecurityTests.Combinations), MemberType = typeof(OurClientSecurityTests))]
    public async Task Every_policy_mode_and_identity_reads(string policy, MessageSecurityMode mode, string identity)
    {
        object? who = identity switch { "anonymous" => null, "name" => Named, _ => new { certificate = "valid" } };
        await Client.DoAsync(new { @do = "connect", url = Server.Url, policy, mode = mode.ToString(), identity = who });
        var values = await ReadAsync("Long", "Odd");
        Assert.Equal(200_000, ((string)values[0]!["value"]!["value"]!).Length);
        Assert.Equal("BadSensorFailure", (string?)values[1]!["status"]);
        await Client.DoAsync(new { @do = "close" });
    }

    [Theory]
    [InlineData("keg", "wrong")]
    [InlineData("nobody", "washer")]
    public async Task A_wrong_name_or_password_is_refused(string user, string password)
    {
        var refusal = await Client.TryAsync(new { @do = "connect", url = Server.Url, policy = "Basic256Sha256", identity = new { user, password } });
        Assert.Matches("Bad(UserAccessDenied|IdentityTokenRejected)", (string?)refusal["error"]);
    }

    [Fact]
    public async Task A_user_certificate_that_is_not_listed_is_refused()
    {
        var refusal = await Client.TryAsync(new { @do = "connect", url = Server.Url, policy = "Basic256Sha256", identity = new { certificate = "valid", name = "somebody" } });
        Assert.Matches("Bad(UserAccessDenied|IdentityTokenRejected)", (string?)refusal["error"]);
    }

    /// <summary>Refused although it is trusted; and before that, because it is not.</summary>
    [Theory]
    [InlineData("expired")]
    [InlineData("notyet")]
    [InlineData("wronguri")]
    public async Task A_client_whose_certificate_is_faulty_is_refused_even_if_it_is_trusted(string kind)
    {
        var connect = new { @do = "connect", url = Server.Url, policy = "Basic256Sha256", certificate = kind, timeout = 3000 };
        Assert.NotNull((await Client.TryAsync(connect))["error"]);
        fixture.Trust(await fixture.CertificateFileAsync(kind));
        Assert.NotNull((await Client.TryAsync(connect))["error"]);
        await Client.DoAsync(new { @do = "connect", url = Server.Url, policy = "Basic256Sha256" });
    }

    [Fact]
    public async Task A_client_that_is_not_trusted_is_refused_and_kept_for_a_decision()
    {
        await using var stranger = await OpcUaPeerClient.StartAsync();
        var connect = new { @do = "connect", url = Server.Url, policy = "Aes256_Sha256_RsaPss", timeout = 3000 };
        Assert.NotNull((await stranger.TryAsync(connect))["error"]);
        var file = (string)(await stranger.DoAsync(new { @do = "files" }))["files"]!["valid"]!;
        using var certificate = OpcUaLab.LoadCertificate(file);
        Assert.Contains(fixture.Store.List(), stored => stored.State == StoredState.Rejected && stored.Thumbprint == certificate.Thumbprint);
        fixture.Store.Trust(certificate.Thumbprint);
        await stranger.DoAsync(connect);
    }

    [Fact]
    public async Task Values_of_every_built_in_type_are_read_as_they_were_set()
    {
        await Client.DoAsync(new { @do = "connect", url = Server.Url });
        string[] names = [.. Server.Values.Keys];
        var values = await ReadAsync(names);
        Assert.All(names.Index(), name =>
        {
            var set = PlainValues.Of(Server.Values[name.Item]);
            Assert.True(JsonNode.DeepEquals(set, values[name.Index]!["value"]), $"{name.Item}: {set?.ToJsonString()}, read as {values[name.Index]!.ToJsonString()}");
        });
    }

    [Fact]
    public async Task All_nodes_are_found_by_browsing_in_pieces()
    {
        await Client.DoAsync(new { @do = "connect", url = Server.Url });
        var big = await Client.DoAsync(new { @do = "browse", node = Server.Id("Big").ToString() });
        Assert.Equal(OurServer.BigFolder, big["references"]!.AsArray().Count);
        Assert.Equal(OurServer.BigFolder / 500, (int)big["calls"]!);
        var pieces = await Client.DoAsync(new { @do = "browse", node = Server.Id("Big").ToString(), max = 70 });
        Assert.Equal(OurServer.BigFolder, pieces["references"]!.AsArray().Select(r => (string)r!["node"]!).Distinct().Count());
        Assert.Equal((OurServer.BigFolder + 69) / 70, (int)pieces["calls"]!);

        var all = await Client.DoAsync(new { @do = "browse", node = "ns=0;i=85", all = true });
        Assert.InRange(all["references"]!.AsArray().Count, OurServer.BigFolder + 60, 10_000);
        var found = await Client.DoAsync(new { @do = "translate", from = "i=85", path = $"/{Server.Index}:Plant/{Server.Index}:V7" });
        Assert.Equal(Server.Id("V7").ToString(), (string?)Assert.Single(found["targets"]!.AsArray()));
        var nowhere = await Client.DoAsync(new { @do = "translate", from = "i=85", path = $"/{Server.Index}:Plant/{Server.Index}:Nowhere" });
        Assert.Equal("BadNoMatch", (string?)nowhere["status"]);
    }

    [Fact]
    public async Task An_analogue_item_has_its_unit_and_its_range()
    {
        await Client.DoAsync(new { @do = "connect", url = Server.Url });
        var properties = (await Client.DoAsync(new { @do = "browse", node = Server.Id("Temperature").ToString() }))["references"]!.AsArray();
        string[] names = [.. properties.Select(p => (string)p!["name"]!).Order(StringComparer.Ordinal)];
        Assert.Equal(["EURange", "EngineeringUnits"], names);
        var values = (await Client.DoAsync(new { @do = "read", nodes = properties.OrderBy(p => (string)p!["name"]!, StringComparer.Ordinal).Select(p => (string)p!["node"]!) }))["values"]!;

        // The other library decodes and encodes them again: a Range (i=886) and an EUInformation (i=889) with UNECE code CEL, 0x43454C (OPC 10000-8, 5.6).
        Assert.Equal(886, (int)values[0]!["value"]!["value"]!["type"]!["i"]!);
        Assert.Equal(Convert.ToHexStringLower([.. BitConverter.GetBytes(0d), .. BitConverter.GetBytes(100d)]), (string?)values[0]!["value"]!["value"]!["body"]);
        Assert.Equal(889, (int)values[1]!["value"]!["value"]!["type"]!["i"]!);
        Assert.Contains("4c454300", (string?)values[1]!["value"]!["value"]!["body"], StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Call")]
    [InlineData("HistoryRead")]
    [InlineData("HistoryUpdate")]
    [InlineData("AddNodes")]
    [InlineData("AddReferences")]
    [InlineData("DeleteNodes")]
    [InlineData("DeleteReferences")]
    [InlineData("QueryFirst")]
    public async Task Services_that_could_change_something_or_are_not_there_are_refused(string name)
    {
        await Client.DoAsync(new { @do = "connect", url = Server.Url, policy = "Basic256Sha256", identity = Named });
        var answer = await Client.DoAsync(new { @do = "service", name });
        Assert.Contains("BadServiceUnsupported", (string?)answer["status"], StringComparison.Ordinal);
    }

    [Fact]
    public async Task Nothing_can_be_written()
    {
        await Client.DoAsync(new { @do = "connect", url = Server.Url, policy = "Basic256Sha256", identity = Named });
        var answer = await Client.TryAsync(new { @do = "write", node = Server.Id("Odd").ToString(), type = "Double", value = 5 });
        Assert.Contains("BadServiceUnsupported", answer.ToJsonString(), StringComparison.Ordinal);
        Assert.Equal(42d, Server.Variable("Odd").Current.Value.As<double>());
    }

    private async Task<JsonArray> ReadAsync(params string[] names) =>
        (await Client.DoAsync(new { @do = "read", nodes = names.Select(name => Server.Id(name).ToString()) }))["values"]!.AsArray();
}
