using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>The services Browse, BrowseNext and TranslateBrowsePathsToNodeIds (OPC 10000-4, 5.9).</summary>
public sealed class BrowsingTests
{
    private static readonly NodeId Hierarchical = new(33);
    private static readonly NodeId Organizes = new(35);
    private static readonly NodeId HasProperty = new(46);

    private readonly ServerFixture server = new(new UaServerLimits { MaxReferencesPerNode = 10, MaxBrowseContinuationPoints = 2, MaxPathElements = 3 });
    private readonly Browser browser;
    private readonly Session session;
    private readonly UaObject washer;

    public BrowsingTests()
    {
        browser = new Browser(server.Space, server.Options.Limits);
        session = new Session(new NodeId(1, 1), new NodeId(2), "", TimeSpan.FromMinutes(1), new FakeConnection(), server.Options.Limits, server.Time);
        washer = server.Space.AddFolder(server.Space.Objects, server.Id("W1"), "W1");
        for (var i = 0; i < 25; i++)
        {
            server.Space.AddVariable(washer, server.Id($"W1.{i}"), $"{i}", new VariableDefinition(BuiltInType.Double) { Range = new EURange(0, 1) });
        }
    }

    [Fact]
    public void A_browse_goes_on_where_it_stopped_until_all_is_told()
    {
        var first = Browse(washer.Id);
        Assert.Equal(10, first.References.Count);
        var second = Next(first);
        Assert.Equal(10, second.References.Count);
        var third = Next(second);
        Assert.Equal((5, null), (third.References.Count, third.ContinuationPoint));
        Assert.Equal(Enumerable.Range(0, 25).Select(i => server.Id($"W1.{i}")), new[] { first, second, third }.SelectMany(r => r.References).Select(r => r.NodeId.Node));
        Assert.Equal(0, session.Browses.Count);
    }

    /// <summary>7.6: each point is used once.</summary>
    [Fact]
    public void A_point_that_was_used_released_or_never_given_is_invalid()
    {
        var first = Browse(washer.Id);
        Next(first);
        Assert.Equal(StatusCodes.BadContinuationPointInvalid, Next(first).Status);
        var other = Browse(washer.Id);
        var released = browser.BrowseNext(session, new BrowseNextRequest(true, [other.ContinuationPoint])).Results[0];
        Assert.Equal((StatusCodes.Good, 0), (released.Status, released.References.Count));
        Assert.Equal(StatusCodes.BadContinuationPointInvalid, Next(other).Status);
        Assert.Equal([StatusCodes.BadContinuationPointInvalid, StatusCodes.BadContinuationPointInvalid], browser.BrowseNext(session, new BrowseNextRequest(false, [[1, 2, 3], null])).Results.Select(r => r.Status));
    }

    /// <summary>7.6: points of earlier requests give way; one request gets no more than there are.</summary>
    [Fact]
    public void There_are_only_so_many_points()
    {
        var old = Browse(washer.Id);
        var request = new BrowseRequest(new ViewDescription(default, default, 0), 3, [.. Enumerable.Repeat(Description(washer.Id), 3)]);
        var results = browser.Browse(session, request).Results;
        Assert.Equal([StatusCodes.Good, StatusCodes.Good, StatusCodes.BadNoContinuationPoints], results.Select(r => r.Status));
        Assert.Empty(results[2].References);
        Assert.Equal(StatusCodes.BadContinuationPointInvalid, Next(old).Status);
        Assert.Equal(3, Next(results[0]).References.Count);
    }

    [Fact]
    public void Nodes_that_are_added_or_removed_meanwhile_do_not_repeat_or_hide_others()
    {
        var first = Browse(washer.Id);
        server.Space.Remove(server.Space.Find(server.Id("W1.3"))!);
        server.Space.Remove(server.Space.Find(server.Id("W1.10"))!);
        server.Space.AddFolder(washer, server.Id("W1.new"), "new");
        var second = Next(first);
        var third = Next(second);
        Assert.Equal([.. Enumerable.Range(11, 14).Select(i => server.Id($"W1.{i}")), server.Id("W1.new")], second.References.Concat(third.References).Select(r => r.NodeId.Node));
    }

    [Fact]
    public void A_point_of_a_node_that_was_removed_is_invalid()
    {
        var first = Browse(washer.Id);
        server.Space.Remove(washer);
        server.Space.AddFolder(server.Space.Objects, server.Id("W1"), "W1");
        Assert.Equal(StatusCodes.BadContinuationPointInvalid, Next(first).Status);
    }

    [Theory]
    [InlineData(BrowseDirection.Forward, 46u, true, 0u, "EURange")]
    [InlineData(BrowseDirection.Inverse, 0u, false, 0u, "W1")]
    [InlineData(BrowseDirection.Both, 33u, true, 0u, "W1, EURange")]
    [InlineData(BrowseDirection.Both, 33u, false, 0u, "")]
    [InlineData(BrowseDirection.Both, 0u, false, 16u, "AnalogItemType")]
    [InlineData(BrowseDirection.Both, 0u, false, 1u, "W1")]
    public void Direction_reference_type_and_node_class_choose(BrowseDirection direction, uint type, bool subtypes, uint classes, string expected)
    {
        var result = browser.Browse(session, new BrowseRequest(new ViewDescription(default, default, 0), 0, [new BrowseDescription(server.Id("W1.0"), direction, new NodeId(type), subtypes, classes, 63)])).Results[0];
        Assert.Equal(expected, string.Join(", ", result.References.Select(r => r.BrowseName.Name)));
    }

    [Fact]
    public void Only_the_fields_that_are_asked_for_are_told()
    {
        var all = Browse(server.Id("W1.0"), HasProperty).References[0];
        Assert.Equal((HasProperty, true, NodeClass.Variable, "EURange", "EURange", new NodeId(68)), (all.ReferenceTypeId, all.IsForward, all.NodeClass, all.BrowseName.Name, all.DisplayName.Text, all.TypeDefinition.Node));
        var none = Browse(server.Id("W1.0"), HasProperty, mask: 0).References[0];
        Assert.Equal(new ReferenceDescription(default, false, all.NodeId, default, default, NodeClass.Unspecified, default(NodeId)), none);
    }

    [Fact]
    public void What_cannot_be_browsed_says_why()
    {
        Assert.Equal(StatusCodes.BadNodeIdUnknown, Browse(server.Id("nowhere")).Status);
        Assert.Equal(StatusCodes.BadReferenceTypeIdInvalid, Browse(washer.Id, new NodeId(58)).Status);
        Assert.Equal(StatusCodes.BadReferenceTypeIdInvalid, Browse(washer.Id, new NodeId(9999)).Status);
        var results = browser.Browse(session, new BrowseRequest(new ViewDescription(default, default, 0), 0, [Description(washer.Id) with { Direction = (BrowseDirection)3 }]));
        Assert.Equal(StatusCodes.BadBrowseDirectionInvalid, results.Results[0].Status);
        Fault(StatusCodes.BadViewIdUnknown, () => browser.Browse(session, new BrowseRequest(new ViewDescription(new NodeId(87), default, 0), 0, [Description(washer.Id)])));
    }

    [Fact]
    public void A_path_of_names_leads_to_its_node()
    {
        Assert.Equal([server.Id("W1.7.EURange")], Translate(server.Space.Objects.Id, Step(Organizes, server.Namespace, "W1"), Step(Hierarchical, server.Namespace, "7"), Step(NodeId.Null, 0, "EURange")).Targets.Select(t => t.TargetId.Node));
        Assert.Equal([washer.Id], Translate(server.Id("W1.0"), Step(Organizes, server.Namespace, "W1") with { IsInverse = true }).Targets.Select(t => t.TargetId.Node));
        Assert.All(Translate(washer.Id, Step(Hierarchical, server.Namespace, "1")).Targets, t => Assert.Equal(uint.MaxValue, t.RemainingPathIndex));
    }

    [Fact]
    public void A_path_that_leads_nowhere_says_why()
    {
        Assert.Equal(StatusCodes.BadNodeIdUnknown, Translate(server.Id("nowhere"), Step(Organizes, 0, "x")).Status);
        Assert.Equal(StatusCodes.BadNothingToDo, Translate(washer.Id).Status);
        Assert.Equal(StatusCodes.BadBrowseNameInvalid, Translate(washer.Id, Step(Organizes, 0, "")).Status);
        Assert.Equal(StatusCodes.BadNoMatch, Translate(washer.Id, Step(HasProperty, server.Namespace, "1")).Status);
        Assert.Equal(StatusCodes.BadNoMatch, Translate(washer.Id, Step(Hierarchical, 0, "1")).Status);
        Assert.Equal(StatusCodes.BadNoMatch, Translate(washer.Id, Step(Hierarchical, server.Namespace, "1") with { IncludeSubtypes = false }).Status);
        Assert.Equal(StatusCodes.BadNoMatch, Translate(washer.Id, Step(new NodeId(9999), server.Namespace, "1")).Status);
        Assert.Equal(StatusCodes.BadTooManyOperations, Translate(washer.Id, [.. Enumerable.Repeat(Step(Organizes, 0, "x"), 4)]).Status);
    }

    private static void Fault(StatusCode expected, Action call) => Assert.Equal(expected, Assert.Throws<UaException>(call).Status);

    private static RelativePathElement Step(NodeId type, ushort ns, string name) => new(type, false, true, new QualifiedName(ns, name));

    private static BrowseDescription Description(NodeId node, NodeId? type = null, uint mask = 63) => new(node, BrowseDirection.Forward, type ?? Hierarchical, true, 0, mask);

    private BrowseResult Browse(NodeId node, NodeId? type = null, uint mask = 63) =>
        browser.Browse(session, new BrowseRequest(new ViewDescription(default, default, 0), 0, [Description(node, type, mask)])).Results[0];

    private BrowseResult Next(BrowseResult result) => browser.BrowseNext(session, new BrowseNextRequest(false, [result.ContinuationPoint])).Results[0];

    private BrowsePathResult Translate(NodeId start, params RelativePathElement[] steps) =>
        browser.Translate(new TranslateBrowsePathsRequest([new BrowsePath(start, steps)])).Results[0];
}
