using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>Our client against a node-opcua server: what it browses, reads and is told.</summary>
[Collection(OpcUaCollection.Name)]
public sealed class OurClientDataTests(OpcUaLab lab)
{
    private static readonly NodeId HierarchicalReferences = new(33);

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    /// <summary>The other library's client reads the same server: what it understands is what we must.</summary>
    [Fact]
    public async Task Values_of_every_built_in_type_are_read_as_the_other_client_reads_them()
    {
        var server = await lab.Server;
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server));
        var references = await BrowseAsync(session, server, "Types");
        Assert.InRange(references.Count, 45, 60);
        var nodes = references.Select(r => r.NodeId.Node).ToArray();
        var ours = (await session.ReadValuesAsync(nodes, cancellation: Stop)).Values;
        var client = await lab.Client;
        await client.DoAsync(new { @do = "connect", url = server.EndpointUrl });
        var theirs = (await client.DoAsync(new { @do = "read", nodes = nodes.Select(n => n.ToString()) }))["values"]!.AsArray();
        Assert.All(nodes.Index(), node =>
        {
            var (i, id) = node;
            Assert.Equal(StatusCodes.Good, ours[i].Status);
            Assert.True(JsonNode.DeepEquals(PlainValues.Of(ours[i].Value), theirs[i]!["value"]), $"{id}: {PlainValues.Of(ours[i].Value)?.ToJsonString()}, the other client: {theirs[i]!["value"]?.ToJsonString()}");
        });
    }

    [Fact]
    public async Task Statuses_and_timestamps_come_through()
    {
        var server = await lab.Server;
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server));
        NodeId[] nodes = [.. new[] { "Odd.Bad", "Odd.Uncertain", "Odd.Local", "Odd.Ahead", "Odd.NotReadable", "Odd.Missing", "V0" }.Select(name => new NodeId(server.NamespaceIndex, name))];
        var result = await session.ReadValuesAsync(nodes, cancellation: Stop);
        var values = result.Values;
        Assert.Equal("BadSensorFailure", values[0].Status.ToString());
        Assert.Equal(StatusCodes.UncertainSensorNotAccurate, values[1].Status);
        Assert.True(values[2].Status.IsGood && values[2].Status != StatusCodes.Good, values[2].Status.ToString());
        Assert.InRange(values[3].SourceTimestamp!.Value - result.ServerTime, TimeSpan.FromMinutes(50), TimeSpan.FromMinutes(61));
        Assert.Equal(StatusCodes.BadNotReadable, values[4].Status);
        Assert.Equal(StatusCodes.BadNodeIdUnknown, values[5].Status);
        Assert.Equal(StatusCodes.Good, values[6].Status);
    }

    [Fact]
    public async Task An_analogue_item_has_its_unit_and_its_range()
    {
        var server = await lab.Server;
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server));
        var properties = await BrowseAsync(session, server, "Analog.Temperature");
        var unit = await ReadAsync(session, properties.Single(p => p.BrowseName.Name == "EngineeringUnits").NodeId.Node);
        var range = await ReadAsync(session, properties.Single(p => p.BrowseName.Name == "EURange").NodeId.Node);
        Assert.True(unit.As<ExtensionObject>().TryDecode<EUInformation>(DecodingLimits.Default, out var celsius));

        // UNECE Recommendation 20 code CEL as OPC 10000-8, 5.6.3 makes a number of it: "CEL" in ASCII, 0x43454C.
        Assert.Equal((0x43454C, "°C"), (celsius!.UnitId, celsius.DisplayName.Text));
        Assert.True(range.As<ExtensionObject>().TryDecode<EURange>(DecodingLimits.Default, out var scale));
        Assert.Equal(new EURange(0, 100), scale);
    }

    [Fact]
    public async Task Addresses_are_resolved_by_id_by_namespace_and_by_path()
    {
        var server = await lab.Server;
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server));
        var ns = server.NamespaceIndex;
        var resolved = await session.ResolveAsync(
            [
                NodeAddress.Parse($"ns={ns};s=V7"),
                NodeAddress.Parse($"nsu={OpcUaPeerServer.Namespace};s=V7"),
                NodeAddress.Parse($"/Objects/{ns}:Plant/{ns}:Washer1/{ns}:V7"),
                NodeAddress.Parse("nsu=urn:no-such-namespace;s=V7"),
                NodeAddress.Parse($"/Objects/{ns}:Plant/{ns}:Nowhere"),
            ],
            Stop);
        Assert.All(resolved.Take(3), r => Assert.Equal((StatusCodes.Good, new NodeId(ns, "V7")), (r.Status, r.Node)));
        Assert.Equal([StatusCodes.BadNodeIdUnknown, StatusCodes.BadNoMatch], resolved.Skip(3).Select(r => r.Status));
    }

    /// <summary>3,000 references come in many pieces, from a server that lets only one browse go on at a time.</summary>
    [Fact]
    public async Task A_large_folder_is_browsed_through_continuation_points()
    {
        var server = await NarrowAsync();
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server) with { MaxReferencesPerNode = 100 });
        var folders = new[] { "Big", "Plant", "Types", "Big" }.Select(name => Description(server, name)).ToArray();
        var results = await session.BrowseAsync(folders, Stop);
        Assert.All(results, r => Assert.Equal(StatusCodes.Good, r.Status));
        Assert.Equal([3000, 3000], new[] { results[0], results[3] }.Select(r => r.References.DistinctBy(x => x.NodeId).Count()));
        var streamed = 0;
        await foreach (var reference in session.BrowseAsync(Description(server, "Big"), Stop))
        {
            Assert.Equal($"Big.{streamed}", reference.BrowseName.Name);
            if (++streamed == 250)
            {
                break;
            }
        }

        // Given up in the middle: had the continuation point not been given back, the next browse could not begin.
        Assert.Equal(3000, (await session.BrowseAsync([Description(server, "Big")], Stop))[0].References.Count);
    }

    /// <summary>OperationLimits (OPC 10000-5, 6.3.11) of 7 reads, 3 browses, 5 items; chunks of 8,192 bytes; tokens that last two seconds.</summary>
    [Fact]
    public async Task Small_limits_and_small_chunks_only_mean_more_requests()
    {
        var server = await NarrowAsync();
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server) with { Policy = Protocols.OpcUa.Security.SecurityPolicy.Basic256Sha256, Mode = Protocols.OpcUa.Security.MessageSecurityMode.SignAndEncrypt });
        Assert.Equal((7, 3, 5), (session.Limits.MaxNodesPerRead, session.Limits.MaxNodesPerBrowse, session.Limits.MaxMonitoredItemsPerCall));
        NodeId[] nodes = [.. Enumerable.Range(0, 60).Select(i => new NodeId(server.NamespaceIndex, $"V{i}")), new NodeId(server.NamespaceIndex, "Long.1048576"), new NodeId(server.NamespaceIndex, "Long.16384")];
        var values = (await session.ReadValuesAsync(nodes, cancellation: Stop)).Values;
        Assert.Equal(62, values.Count);
        Assert.All(values, value => Assert.Equal(StatusCodes.Good, value.Status));
        Assert.Equal(1024 * 1024, values[60].Value.As<string>()!.Length);
    }

    [Fact]
    public async Task Tokens_are_renewed_under_load_and_no_value_is_lost()
    {
        var server = await NarrowAsync();
        await using var connection = UaConnection.Start(
            lab.Options(server) with { Policy = Protocols.OpcUa.Security.SecurityPolicy.Aes128Sha256RsaOaep, Mode = Protocols.OpcUa.Security.MessageSecurityMode.SignAndEncrypt }, null, TimeProvider.System);
        var watch = new Watch();
        await using var subscription = connection.Subscribe(Counting(server, 60), watch);
        var session = await connection.WaitForSessionAsync(Stop);
        NodeId[] longOnes = [new(server.NamespaceIndex, "Long.131072")];

        // The server grants two seconds, and we renew after three quarters of them (OPC 10000-4, 5.6.2): three renewals at least.
        var start = TimeProvider.System.GetTimestamp();
        for (var reads = 0; TimeProvider.System.GetElapsedTime(start) < TimeSpan.FromSeconds(6); reads++)
        {
            var value = (await session.ReadValuesAsync(longOnes, cancellation: Stop)).Values[0];
            Assert.Equal(131_072, value.Value.As<string>()!.Length);
        }

        await watch.MoreAsync();
        Assert.True(watch is { Holes: 0, Interruptions: 0, Restarted: 1 }, $"{watch}\n{watch.Story}");
        Assert.Equal(1, connection.Counters.Connections);
    }

    [Fact]
    public async Task A_queue_that_is_too_short_tells_so_by_the_overflow_bit()
    {
        var server = await lab.Server;
        await using var connection = UaConnection.Start(lab.Options(server), null, TimeProvider.System);
        var watch = new Watch();
        await using var subscription = connection.Subscribe(
            new SubscriptionSpec
            {
                PublishingInterval = TimeSpan.FromSeconds(1),
                Items = [new MonitoredItemSpec { ClientHandle = 1, Node = new NodeId(server.NamespaceIndex, "V4"), SamplingInterval = TimeSpan.FromMilliseconds(50), QueueSize = 2 }],
            },
            watch);
        await watch.UntilAsync(w => w.Overflows >= 2, "overflows");
        Assert.Equal(0, watch.Holes);
        Assert.InRange(connection.Counters.Overflows, 2, long.MaxValue);
    }

    [Fact]
    public async Task A_node_that_is_unknown_vanishes_or_turns_bad_hurts_no_other()
    {
        var server = await lab.ServerAsync("changing", new { variables = 12, bigFolder = 0 });
        await using var connection = UaConnection.Start(lab.Options(server), null, TimeProvider.System);
        var watch = new Watch();
        var spec = Counting(server, 6);
        await using var subscription = connection.Subscribe(
            spec with { Items = [.. spec.Items, new MonitoredItemSpec { ClientHandle = 100, Node = new NodeId(server.NamespaceIndex, "NotThere") }] },
            watch);
        await watch.UntilAsync(w => w.Items.Count == 7 && w.Latest.Count >= 6, "all items");
        Assert.Equal(StatusCodes.BadNodeIdUnknown, watch.Items[100].Status);
        Assert.All(Enumerable.Range(0, 6), i => Assert.True(watch.Items[(uint)i].Status.IsGood));

        await server.DoAsync("status V1 BadSensorFailure");
        await watch.UntilAsync(w => w.Latest[1].Status == StatusCodes.BadSensorFailure, "the bad status");
        await server.DoAsync("remove V2");
        await watch.UntilAsync(w => w.Latest[2].Status.IsBad || w.Items[2].Status.IsBad, "the end of V2");
        await server.DoAsync("set V3 1000000");
        await watch.UntilAsync(w => w.Latest[3].Value.TryGetNumber(out var number) && number == 1_000_000, "the value set");
        await watch.MoreAsync();
        Assert.Equal(0, watch.Interruptions);
    }

    internal static SubscriptionSpec Counting(OpcUaPeerServer server, int count) => new()
    {
        PublishingInterval = TimeSpan.FromMilliseconds(100),
        KeepAlive = TimeSpan.FromSeconds(1),
        Items =
        [
            .. Enumerable.Range(0, count).Select(i => new MonitoredItemSpec
            {
                ClientHandle = (uint)i,
                Node = new NodeId(server.NamespaceIndex, $"V{i}"),
                SamplingInterval = TimeSpan.Zero,
                QueueSize = 1000,
            }),
        ],
    };

    private static BrowseDescription Description(OpcUaPeerServer server, string name) =>
        new(new NodeId(server.NamespaceIndex, name), BrowseDirection.Forward, HierarchicalReferences, true, 0, 63);

    private static async Task<IReadOnlyList<ReferenceDescription>> BrowseAsync(UaSession session, OpcUaPeerServer server, string name)
    {
        var result = (await session.BrowseAsync([Description(server, name)], Stop))[0];
        Assert.Equal(StatusCodes.Good, result.Status);
        return result.References;
    }

    private static async Task<Variant> ReadAsync(UaSession session, NodeId node) => (await session.ReadValuesAsync([node], cancellation: Stop)).Values[0].Value;

    private Task<OpcUaPeerServer> NarrowAsync() => lab.ServerAsync("narrow", new
    {
        chunk = 8192,
        tokenLifetime = 2000,
        maxBrowseContinuationPoints = 1,
        limits = new { maxNodesPerRead = 7, maxNodesPerBrowse = 3, maxMonitoredItemsPerCall = 5, maxNodesPerTranslateBrowsePathsToNodeIds = 2 },
    });
}
