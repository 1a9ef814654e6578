using CsCheck;
using WashBridge.Configuration.Binding;

namespace WashBridge.Tests.Configuration;

public sealed class NodeAddressParserTests
{
    private static readonly NodeAddressParser Parser = new(new Dictionary<string, string> { ["w"] = "urn:example:washer" });

    private static readonly string[] Pieces = ["/", ".", ":", ";", "&", "<", "#", "!", "=", "nsu=", "ns=", "s=", "i=", "g=", "b=", "w", "2", "65536", "a", " ", "Objects", "%3B", "ü"];

    /// <summary>The examples of OPC 10000-6, 5.3.1.10 (node ids) and 5.3.1.11 (with a namespace URI).</summary>
    [Theory]
    [InlineData("i=13")]
    [InlineData("ns=10;i=1")]
    [InlineData("ns=10;s=Hello:World")]
    [InlineData("g=09087e75-8e5e-499b-954f-f2a9603db28a")]
    [InlineData("ns=1;b=M/RbKBsRVkePCePcx24oRA==")]
    [InlineData("nsu=http://example.org/washer;s=Hello;World=1")]
    public void Node_ids_of_the_standard_are_taken_as_they_are(string text) => Assert.Equal(text, Parse(text));

    /// <summary>The examples of OPC 10000-4, A.2, behind the folder they begin in.</summary>
    [Theory]
    [InlineData("/2:Block&.Output", "/Objects/2:Block&.Output")]
    [InlineData("/3:Truck.0:NodeVersion", "/Objects/3:Truck.NodeVersion")]
    [InlineData("/1:Boiler/1:HeatSensor", "/Objects/1:Boiler/1:HeatSensor")]
    public void Paths_of_the_standard_begin_in_the_Objects_folder(string text, string expected) => Assert.Equal(expected, Parse(text));

    [Theory]
    [InlineData("/Server/ServerStatus", "/Objects/Server/ServerStatus")]
    [InlineData("/Objects/2:Washer", "/Objects/2:Washer")]
    [InlineData("/0:Objects/2:Washer", "/Objects/2:Washer")]
    [InlineData("/w:A/2:B/C", "/Objects/nsu=urn:example:washer;A/2:B/C")]
    [InlineData("/w:Bath &#3", "/Objects/nsu=urn:example:washer;Bath &#3")]
    [InlineData("/2:a&&b&:c", "/Objects/2:a&&b&:c")]
    [InlineData("/Objects/nsu=http://example.org/w;A.nsu=urn:b;B", "/Objects/nsu=http://example.org/w;A.nsu=urn:b;B")]
    [InlineData("/2:nsu=a;b", "/Objects/2:nsu=a;b")]
    public void Paths_may_begin_at_the_root_and_use_names_of_namespaces(string text, string expected) => Assert.Equal(expected, Parse(text));

    [Theory]
    [InlineData("ns=w;s=A;b=1", "nsu=urn:example:washer;s=A;b=1")]
    [InlineData("ns=0;i=2258", "ns=0;i=2258")]
    [InlineData("ns=w;i=0", "nsu=urn:example:washer;i=0")]
    public void Node_ids_may_use_names_of_namespaces(string text, string expected) => Assert.Equal(expected, Parse(text));

    /// <summary>Named reference types (<c>&lt;1:ConnectedTo&gt;</c>, OPC 10000-4, A.2) are not for people: a node id is shorter.</summary>
    [Theory]
    [InlineData("<1:ConnectedTo>1:Boiler/1:HeatSensor")]
    [InlineData("/1:Boiler<1:ConnectedTo>1:HeatSensor")]
    public void Named_references_are_refused(string text) => Assert.Null(Parser.Parse(text).Address);

    /// <summary>Texts of the characters that mean something are most likely to trip a parser.</summary>
    [Fact]
    public void Any_text_is_an_address_or_a_problem_that_says_what_is_allowed() =>
        Gen.Int[0, Pieces.Length - 1].Select(i => Pieces[i]).Array[0, 12]
            .Select(parts => string.Concat(parts))
            .Sample(text =>
            {
                var parsed = Parser.Parse(text);
                return parsed.Address is null ? parsed.Problem.Length > 0 && parsed.Allowed.Length > 0 : parsed.Problem.Length == 0;
            });

    [Fact]
    public void A_name_that_was_escaped_for_a_path_comes_back_as_one_step()
    {
        const string name = "a/b.c<d>e:f#g!h&i";
        Assert.Equal("/Objects/2:" + NodePathParser.Escape(name), Parse("/2:" + NodePathParser.Escape(name)));
        Assert.Single(NodePathParser.Parse("/2:" + NodePathParser.Escape(name)).Steps);
    }

    private static string Parse(string text)
    {
        var parsed = Parser.Parse(text);
        Assert.Equal("", parsed.Problem);
        return parsed.Address!.ToString();
    }
}
