using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>
/// The nodes of namespace 0 that our server has, against those of a node-opcua server, which has the whole of OPC 10000-5: ids, names, classes, types
/// and places must be the same.
/// </summary>
[Collection(OpcUaCollection.Name)]
public sealed class OurStandardNodesTests(OpcUaLab lab)
{
    private static readonly uint[] Compared =
    [
        AttributeIds.NodeClass, AttributeIds.BrowseName, AttributeIds.IsAbstract, AttributeIds.Symmetric, AttributeIds.InverseName, AttributeIds.DataType, AttributeIds.ValueRank,
    ];

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Every_node_of_the_standard_is_as_the_other_server_has_it()
    {
        await using var server = await UaServer.StartAsync(
            new UaServerOptions { Port = 0, Endpoints = [ServerEndpoint.Unprotected], AllowAnonymous = true, ApplicationUri = "urn:washbridge:tests:our-server" },
            new AddressSpace());
        var peer = lab.Options(await lab.Server);
        await using var ours = await OpcUaLab.ConnectAsync(peer with { Endpoint = server.Endpoint });
        await using var theirs = await OpcUaLab.ConnectAsync(peer);
        var nodes = await AllNodesAsync(ours);
        Assert.InRange(nodes.Count, 120, 300);
        var differences = new List<string>();
        var wanted = nodes.SelectMany(node => Compared.Select(attribute => new ReadValueId(node, attribute, null, default))).ToArray();
        var (mine, others) = ((await ours.ReadAsync(wanted, cancellation: Stop)).Values, (await theirs.ReadAsync(wanted, cancellation: Stop)).Values);
        for (var i = 0; i < wanted.Length; i++)
        {
            // A symmetric reference type needs no inverse name (OPC 10000-3, 5.3.2); the other server tells the name itself.
            var isNeedless = wanted[i].AttributeId == AttributeIds.InverseName && mine[i - 1].Value.As<bool>();
            if (Plain(mine[i]) != Plain(others[i]) && !isNeedless)
            {
                differences.Add($"{wanted[i].NodeId} attribute {wanted[i].AttributeId}: {Plain(mine[i])}, the other server: {Plain(others[i])}");
            }
        }

        var (myParents, otherParents) = (await ParentsAsync(ours, nodes), await ParentsAsync(theirs, nodes));
        for (var i = 0; i < nodes.Count; i++)
        {
            differences.AddRange(myParents[i].Except(otherParents[i]).Select(parent => $"{nodes[i]} is below {parent}, on the other server {string.Join(" and ", otherParents[i])}"));
        }

        Assert.True(differences.Count == 0, string.Join(Environment.NewLine, differences));
    }

    private static string Plain(DataValue value) => value.Status.IsBad ? value.Status.ToString() : value.Value.ToString();

    /// <summary>Everything below the root.</summary>
    private static async Task<IReadOnlyList<NodeId>> AllNodesAsync(UaSession session)
    {
        List<NodeId> found = [new(84)];
        for (var i = 0; i < found.Count; i++)
        {
            var result = await session.BrowseAsync([new BrowseDescription(found[i], BrowseDirection.Forward, new NodeId(33), true, 0, 63)], Stop);
            found.AddRange(result[0].References.Select(reference => reference.NodeId.Node).Where(node => !found.Contains(node)));
        }

        return found;
    }

    /// <summary>Who each node hangs on and how, and what its type is.</summary>
    private static async Task<IReadOnlyList<IReadOnlyList<string>>> ParentsAsync(UaSession session, IReadOnlyList<NodeId> nodes)
    {
        var inverse = await session.BrowseAsync([.. nodes.Select(node => new BrowseDescription(node, BrowseDirection.Inverse, new NodeId(33), true, 0, 63))], Stop);
        var types = await session.BrowseAsync([.. nodes.Select(node => new BrowseDescription(node, BrowseDirection.Forward, new NodeId(40), true, 0, 63))], Stop);
        return [.. inverse.Zip(types, static (parents, type) => (IReadOnlyList<string>)
            [.. parents.References.Concat(type.References).Select(reference => $"{reference.NodeId} by {reference.ReferenceTypeId}")])];
    }
}
