using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Reading and browsing (OPC 10000-4, 5.9 and 5.11) within the server's limits (OPC 10000-5, 6.3.11).</summary>
public sealed class SessionTests
{
    [Fact]
    public void Values_come_in_the_order_asked_for_each_with_its_own_status()
    {
        using var h = new Harness();
        h.Server.Latency = TimeSpan.FromMilliseconds(20);
        var session = h.Session();
        var result = h.Scheduler.Run(() => session.ReadValuesAsync([Harness.Node(2), Harness.Node(9), Harness.Node(1)]));
        Assert.Equal([2.0, null, 1.0], result.Values.Select(v => v.Value.Value));
        Assert.Equal([StatusCodes.Good, StatusCodes.BadNodeIdUnknown, StatusCodes.Good], result.Values.Select(v => v.Status));
        Assert.Equal(TimeSpan.FromMilliseconds(20), h.Time.GetElapsedTime(result.Sent, result.Received));
        Assert.Equal(h.Server.Now, result.Values[0].ServerTimestamp!.Value + TimeSpan.FromMilliseconds(10));
    }

    [Fact]
    public void A_large_read_is_split_by_the_limit_that_the_server_tells()
    {
        using var h = new Harness();
        h.Server.MaxOperations = 100;
        var session = h.Session();
        Assert.Equal(100, session.Limits.MaxNodesPerRead);
        h.Server.Requests.Clear();
        var result = h.Scheduler.Run(() => session.ReadValuesAsync([.. Enumerable.Range(0, 250).Select(i => Harness.Node((uint)(i % 4) + 1))]));
        Assert.Equal([100, 100, 50], h.Server.RequestsOf<ReadRequest>().Select(r => r.Nodes.Count));
        Assert.Equal(Enumerable.Range(0, 250).Select(i => (double)(i % 4) + 1), result.Values.Select(v => v.Value.As<double>()));
    }

    [Theory]
    [InlineData("BadTooManyOperations")]
    [InlineData("BadRequestTooLarge")]
    [InlineData("BadResponseTooLarge")]
    [InlineData("BadEncodingLimitsExceeded")]
    public void A_read_that_turns_out_too_large_is_halved_until_it_fits_and_that_is_remembered(string status)
    {
        var code = (StatusCode)typeof(StatusCodes).GetField(status)!.GetValue(null)!;
        using var h = new Harness();
        var session = h.Session();
        h.Server.Intercept = request => request is ReadRequest { Nodes.Count: > 30 } ? ScriptedServer.Refusal(code) : null;
        h.Server.Requests.Clear();
        NodeId[] nodes = [.. Enumerable.Repeat(Harness.Node(1), 100)];
        Assert.All(h.Scheduler.Run(() => session.ReadValuesAsync(nodes)).Values, v => Assert.Equal(1, v.Value.As<double>()));
        h.Scheduler.Run(() => session.ReadValuesAsync(nodes));
        Assert.Equal([100, 50, 25, 25, 25, 25, 25, 25, 25, 25], h.Server.RequestsOf<ReadRequest>().Select(r => r.Nodes.Count));
    }

    /// <summary>Even what has to be read before the limits are known is split.</summary>
    [Fact]
    public void A_server_that_takes_one_node_at_a_time_can_be_used()
    {
        using var h = new Harness();
        h.Server.MaxOperations = 1;
        var session = h.Session();
        Assert.Equal(ScriptedServer.PlantUri, session.Namespaces.UriOf(2));
        Assert.Equal(1, session.Limits.MaxNodesPerRead);
    }

    [Fact]
    public void A_wrong_number_of_results_is_an_error_and_no_mixed_up_values()
    {
        using var h = new Harness();
        var session = h.Session();
        h.Server.Intercept = static request => request is ReadRequest ? new ReadResponse([new DataValue(1.0)]) : null;
        var e = Assert.Throws<UaException>(() => h.Scheduler.Run(() => session.ReadValuesAsync([Harness.Node(1), Harness.Node(2)])));
        Assert.Equal(StatusCodes.BadUnknownResponse, e.Status);
        Assert.Contains("Read for 2 with 1 results", e.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(1, 10, 100)]
    [InlineData(5, 3, 100)]
    [InlineData(12, 7, 2)]
    [InlineData(12, 7, 1)]
    public void All_references_are_found_with_few_continuation_points_and_none_is_left_open(int folders, int page, int points)
    {
        using var h = new Harness();
        NodeId[] nodes = [.. Enumerable.Range(0, folders).Select(i => new NodeId(2, $"F{i}"))];
        for (var i = 0; i < folders; i++)
        {
            h.Server.AddFolder(nodes[i], 10 * i);
        }

        h.Server.MaxReferences = page;
        h.Server.MaxContinuationPoints = points;
        var session = h.Session();
        var results = h.Scheduler.Run(() => session.BrowseAsync([.. nodes.Select(Everything)]));
        Assert.Equal(Enumerable.Range(0, folders).Select(i => 10 * i), results.Select(r => r.References.Count));
        Assert.All(results, r => Assert.Equal(r.References.Count, r.References.Select(x => x.NodeId).Distinct().Count()));
        Assert.Equal(0, h.Server.OpenContinuationPoints);
        Assert.InRange(h.Server.MostContinuationPoints, 0, points);
    }

    [Fact]
    public void An_unknown_node_does_not_spoil_the_others()
    {
        using var h = new Harness();
        h.Server.AddFolder(Harness.Node(1), 3);
        var session = h.Session();
        var results = h.Scheduler.Run(() => session.BrowseAsync([Everything(Harness.Node(9)), Everything(Harness.Node(1))]));
        Assert.Equal([StatusCodes.BadNodeIdUnknown, StatusCodes.Good], results.Select(r => r.Status));
        Assert.Equal(3, results[1].References.Count);
    }

    [Fact]
    public void Giving_up_gives_the_continuation_point_back()
    {
        using var h = new Harness();
        h.Server.AddFolder(Harness.Node(1), 100);
        h.Server.MaxReferences = 10;
        var session = h.Session();
        var taken = h.Scheduler.Run(async () =>
        {
            List<ReferenceDescription> some = [];
            await foreach (var reference in session.BrowseAsync(Everything(Harness.Node(1))))
            {
                some.Add(reference);
                if (some.Count == 25)
                {
                    break;
                }
            }

            return some;
        });
        Assert.Equal(Enumerable.Range(0, 25).Select(i => $"{i}"), taken.Select(r => r.BrowseName.Name));
        Assert.True(h.Server.RequestsOf<BrowseNextRequest>().Last().Release);
        Assert.Equal(0, h.Server.OpenContinuationPoints);
    }

    [Fact]
    public void A_browse_that_fails_on_the_way_gives_its_continuation_points_back()
    {
        using var h = new Harness();
        h.Server.AddFolder(Harness.Node(1), 100);
        h.Server.AddFolder(Harness.Node(2), 100);
        h.Server.MaxReferences = 10;
        var session = h.Session();
        h.Server.Intercept = static request => request is BrowseNextRequest { Release: false } ? ScriptedServer.Refusal(StatusCodes.BadResourceUnavailable) : null;
        Assert.Throws<WashBridge.Protocols.OpcUa.Channels.UaServiceException>(() => h.Scheduler.Run(() => session.BrowseAsync([Everything(Harness.Node(1)), Everything(Harness.Node(2))])));
        Assert.Equal(0, h.Server.OpenContinuationPoints);
    }

    [Fact]
    public void A_browse_without_end_is_stopped()
    {
        using var h = new Harness();
        h.Server.AddFolder(Harness.Node(1), UaSession.MaxReferences / 10);
        var many = h.Server.References[Harness.Node(1)];
        var session = h.Session();
        h.Server.Intercept = request => request switch
        {
            BrowseRequest => new BrowseResponse([new BrowseResult(StatusCodes.Good, [1], many)]),
            BrowseNextRequest { Release: false } => new BrowseNextResponse([new BrowseResult(StatusCodes.Good, [1], many)]),
            BrowseNextRequest => new BrowseNextResponse([new BrowseResult(StatusCodes.Good, null, [])]),
            _ => null,
        };
        var e = Assert.Throws<UaException>(() => h.Scheduler.Run(() => session.BrowseAsync([Everything(Harness.Node(1))])));
        Assert.Equal(StatusCodes.BadResponseTooLarge, e.Status);
        Assert.True(h.Server.RequestsOf<BrowseNextRequest>().Last().Release);
    }

    [Fact]
    public void Paths_go_in_batches_too()
    {
        using var h = new Harness();
        h.Server.MaxOperations = 4;
        h.Server.Paths["2:V"] = [Harness.Node(1)];
        var session = h.Session();
        h.Server.Requests.Clear();
        var resolved = h.Scheduler.Run(() => session.ResolveAsync([.. Enumerable.Repeat(NodeAddress.Parse($"/nsu={ScriptedServer.PlantUri};V"), 10)]));
        Assert.All(resolved, r => Assert.Equal(new ResolvedNode(StatusCodes.Good, Harness.Node(1)), r));
        Assert.Equal([4, 4, 2], h.Server.RequestsOf<TranslateBrowsePathsRequest>().Select(r => r.Paths.Count));
    }

    [Fact]
    public void After_the_connection_is_lost_every_call_fails_and_the_reason_is_kept()
    {
        using var h = new Harness();
        var session = h.Session();
        h.Server.BreakAll(StatusCodes.BadTcpInternalError);
        h.RunAll();
        Assert.Equal(StatusCodes.BadTcpInternalError, h.Scheduler.Run(() => session.Closed).Status);
        var e = Assert.Throws<UaException>(() => h.Scheduler.Run(() => session.ReadValuesAsync([Harness.Node(1)])));
        Assert.Equal(StatusCodes.BadTcpInternalError, e.Status);
    }

    private static BrowseDescription Everything(NodeId node) => new(node, BrowseDirection.Forward, new NodeId(33), true, 0, 63);
}
