using CsCheck;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Node ids (OPC 10000-6, 5.1.12 and 5.3.1.10) and paths (OPC 10000-4, annex A.2) as people write them.</summary>
public sealed class NodeAddressTests
{
    [Theory]
    [InlineData("i=2258", null, "i=2258")]
    [InlineData("ns=2;s=Station1", null, "ns=2;s=Station1")]
    [InlineData("nsu=http://example.com/washer;s=Station1", "http://example.com/washer", "s=Station1")]
    [InlineData("nsu=urn:x;i=85", "urn:x", "i=85")]
    [InlineData("nsu=urn:a;b;s=x;i=1", "urn:a;b", "s=x;i=1")]
    [InlineData("nsu=urn:x;g=72962B91-FA75-4AE6-8D28-B404DC7DAF63", "urn:x", "g=72962b91-fa75-4ae6-8d28-b404dc7daf63")]
    public void Ids_are_understood(string text, string? uri, string node)
    {
        var address = NodeAddress.Parse(text);
        Assert.Equal((uri, node), (address.NamespaceUri, address.Node.ToString()));
        Assert.Equal(text, address.ToString());
        Assert.Null(address.Path);
    }

    /// <summary>The examples of OPC 10000-4, A.2, table A.2, as far as they name no reference type.</summary>
    [Fact]
    public void Paths_are_understood()
    {
        Assert.Equal([new NodeAddress.PathStep(false, 2, null, "Block.Output")], NodeAddress.Parse("/2:Block&.Output").Path!);
        Assert.Equal(
            [new NodeAddress.PathStep(false, 3, null, "Truck"), new NodeAddress.PathStep(true, 0, null, "NodeVersion")],
            NodeAddress.Parse("/3:Truck.0:NodeVersion").Path!);
        Assert.Equal([new NodeAddress.PathStep(false, 0, "http://example.com/x", "A:1")], NodeAddress.Parse("/nsu=http://example.com/x;A&:1").Path!);
    }

    [Theory]
    [InlineData("", "ns=2;s=Name")]
    [InlineData("Station1", "ns=2;s=Name")]
    [InlineData("ns=70000;i=1", "ns=2;s=Name")]
    [InlineData("nsu=urn:x", "a semicolon and an identifier")]
    [InlineData("nsu=;i=1", "a semicolon and an identifier")]
    [InlineData("/", "a name is missing, at character 2")]
    [InlineData("/a//b", "a name is missing, at character 4")]
    [InlineData("/a<b", "'<' within a name is written with & in front, at character 3")]
    [InlineData("/70000:a", "0 to 65535")]
    [InlineData("/nsu=urn:x", "a semicolon")]
    public void What_is_wrong_is_said(string text, string why) =>
        Assert.Contains(why, Assert.Throws<FormatException>(() => NodeAddress.Parse(text)).Message, StringComparison.Ordinal);

    [Theory]
    [InlineData("ns=2;i=1", true)]
    [InlineData("ns=1;i=1", false)] // the server's own namespace
    [InlineData("nsu=urn:x;i=1", false)]
    [InlineData("/Objects/2:Washer", true)]
    [InlineData("/Objects/nsu=urn:x;Washer", false)]
    public void It_is_known_what_a_restart_may_change(string text, bool depends) => Assert.Equal(depends, NodeAddress.Parse(text).DependsOnNamespaceIndex);

    [Fact]
    public void Any_name_can_be_written_in_a_path() => Gen.String[Gen.Char[' ', '\u00ff'], 1, 20].Sample(name =>
    {
        var escaped = string.Concat(name.Select(c => "/.<>:#!&".Contains(c) ? $"&{c}" : $"{c}"));
        Assert.Equal([new NodeAddress.PathStep(false, 7, null, name)], NodeAddress.Parse($"/7:{escaped}").Path!);
    });

    [Fact]
    public void Any_text_is_understood_or_refused_with_a_format_error() => Gen.String[Gen.OneOf(Gen.Const('/'), Gen.Const('&'), Gen.Const(':'), Gen.Const(';'), Gen.Const('='), Gen.Char['a', 'z'], Gen.Char['0', '9']), 0, 20].Sample(text =>
    {
        foreach (var start in new[] { "", "/", "nsu=", "ns=" })
        {
            try
            {
                NodeAddress.Parse(start + text);
            }
            catch (FormatException)
            {
                // As said.
            }
        }
    });

    [Fact]
    public void A_node_can_be_written_so_that_it_stays_right()
    {
        var table = new NamespaceTable(["http://opcfoundation.org/UA/", "urn:server", "urn:plant"]);
        Assert.Equal("i=2258", table.Portable(new NodeId(2258)));
        Assert.Equal("nsu=urn:plant;s=V1", table.Portable(new NodeId(2, "V1")));
        Assert.Equal("ns=9;s=V1", table.Portable(new NodeId(9, "V1")));
        Assert.True(table.TryResolve(new ExpandedNodeId(new NodeId(0, "V1"), "urn:plant"), out var node));
        Assert.Equal(new NodeId(2, "V1"), node);
        Assert.False(table.TryResolve(new ExpandedNodeId(new NodeId(0, "V1"), "urn:other"), out _));
        Assert.False(table.TryResolve(new ExpandedNodeId(new NodeId(2, "V1"), null, 1), out _));
    }
}
