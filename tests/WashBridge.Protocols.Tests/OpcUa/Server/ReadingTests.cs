using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>The service Read (OPC 10000-4, 5.11.2).</summary>
public sealed class ReadingTests
{
    private readonly ServerFixture server = new();
    private readonly ReadService reading;

    public ReadingTests() => reading = new ReadService(server.Space, server.Options.Limits, server.Time);

    /// <summary>Which attributes are mandatory: OPC 10000-3, tables 3 to 15 (object 5.5.1, variable 5.6.2, types 5.3 to 5.8).</summary>
    [Theory]
    [InlineData("i=85", new uint[] { 1, 2, 3, 4, 5, 6, 7, 12 })]
    [InlineData("ns=2;s=V", new uint[] { 1, 2, 3, 4, 5, 6, 7, 13, 14, 15, 17, 18, 19, 20 })]
    [InlineData("ns=2;s=A", new uint[] { 1, 2, 3, 4, 5, 6, 7, 13, 14, 15, 16, 17, 18, 19, 20 })]
    [InlineData("i=58", new uint[] { 1, 2, 3, 4, 5, 6, 7, 8 })]
    [InlineData("i=63", new uint[] { 1, 2, 3, 4, 5, 6, 7, 8, 14, 15 })]
    [InlineData("i=11", new uint[] { 1, 2, 3, 4, 5, 6, 7, 8 })]
    [InlineData("i=47", new uint[] { 1, 2, 3, 4, 5, 6, 7, 8, 9, 10 })]
    [InlineData("i=31", new uint[] { 1, 2, 3, 4, 5, 6, 7, 8, 9 })]
    public void Each_class_of_node_has_its_attributes_and_no_other(string node, uint[] expected)
    {
        server.Variable("V").Set(1.5);
        server.Space.AddVariable(server.Space.Objects, server.Id("A"), "A", new VariableDefinition(BuiltInType.Int32) { ValueRank = 1, InitialValue = Variant.ArrayOf([1]) });
        var results = Enumerable.Range(0, 30).Select(attribute => Read(NodeId.Parse(node), (uint)attribute).Status).ToArray();
        Assert.Equal(expected, Enumerable.Range(0, 30).Where(attribute => results[attribute].IsGood).Select(attribute => (uint)attribute));
        Assert.All(results, status => Assert.True(status.IsGood || status == StatusCodes.BadAttributeIdInvalid));
    }

    [Fact]
    public void A_variable_can_be_read_and_not_written()
    {
        server.Variable("V").Set(1.5);
        Assert.Equal((byte)1, Read(server.Id("V"), AttributeIds.AccessLevel).Value.As<byte>());
        Assert.Equal((byte)1, Read(server.Id("V"), AttributeIds.UserAccessLevel).Value.As<byte>());
        Assert.Equal(0u, Read(server.Id("V"), AttributeIds.WriteMask).Value.As<uint>());
        Assert.Equal(new NodeId(11), Read(server.Id("V"), AttributeIds.DataType).Value.As<NodeId>());
    }

    /// <summary>7.40; times other than the value's own attributes have none of a source (7.11.3).</summary>
    [Theory]
    [InlineData(TimestampsToReturn.Source, true, false)]
    [InlineData(TimestampsToReturn.Server, false, true)]
    [InlineData(TimestampsToReturn.Both, true, true)]
    [InlineData(TimestampsToReturn.Neither, false, false)]
    public void The_times_that_are_asked_for_are_told(TimestampsToReturn wanted, bool source, bool isServer)
    {
        server.Variable("V").Set(1.5, default, ServerFixture.Start.AddMinutes(-1));
        server.Advance(5000);
        var value = Read(server.Id("V"), AttributeIds.Value, timestamps: wanted);
        Assert.Equal((source ? ServerFixture.Start.AddMinutes(-1) : null, isServer ? ServerFixture.Start.AddSeconds(5) : null), (value.SourceTimestamp, value.ServerTimestamp));
        Assert.Null(Read(server.Id("V"), AttributeIds.DisplayName, timestamps: wanted).SourceTimestamp);
    }

    /// <summary>7.29: an encoding may be named for structures.</summary>
    [Theory]
    [InlineData("EURange", 0, "Default Binary", 0u)]
    [InlineData("EURange", 0, "Default XML", 0x8039_0000u)]
    [InlineData("EURange", 0, "Default JSON", 0x8039_0000u)]
    [InlineData("EURange", 0, "nonsense", 0x8038_0000u)]
    [InlineData("EURange", 1, "Default Binary", 0x8038_0000u)]
    [InlineData("", 0, "Default Binary", 0x8038_0000u)]
    public void Encodings_are_checked(string property, ushort ns, string encoding, uint expected)
    {
        server.Variable("V", range: new EURange(0, 1)).Set(1.5);
        var node = property.Length == 0 ? server.Id("V") : server.Id($"V.{property}");
        Assert.Equal(new StatusCode(expected), reading.Read(new ReadRequest(0, TimestampsToReturn.Neither, [new ReadValueId(node, AttributeIds.Value, null, new QualifiedName(ns, encoding))])).Results[0].Status);
    }

    [Fact]
    public void Each_node_has_its_own_status()
    {
        server.Variable("V").Set(1.5);
        ReadValueId[] nodes =
        [
            new(server.Id("V"), AttributeIds.Value, null, default),
            new(server.Id("nowhere"), AttributeIds.Value, null, default),
            new(server.Id("V"), 99, null, default),
            new(server.Id("V"), AttributeIds.Value, "1:0", default),
            new(server.Id("V"), AttributeIds.Value, "0", default),
        ];
        Assert.Equal(
            [StatusCodes.Good, StatusCodes.BadNodeIdUnknown, StatusCodes.BadAttributeIdInvalid, StatusCodes.BadIndexRangeInvalid, StatusCodes.BadIndexRangeNoData],
            reading.Read(new ReadRequest(0, TimestampsToReturn.Both, nodes)).Results.Select(result => result.Status));
    }

    [Fact]
    public void A_request_that_makes_no_sense_fails_as_a_whole()
    {
        var node = new ReadValueId(server.Id("V"), AttributeIds.Value, null, default);
        Fault(StatusCodes.BadMaxAgeInvalid, new ReadRequest(-1, TimestampsToReturn.Both, [node]));
        Fault(StatusCodes.BadMaxAgeInvalid, new ReadRequest(double.NaN, TimestampsToReturn.Both, [node]));
        Fault(StatusCodes.BadTimestampsToReturnInvalid, new ReadRequest(0, (TimestampsToReturn)4, [node]));
        Fault(StatusCodes.BadTimestampsToReturnInvalid, new ReadRequest(0, (TimestampsToReturn)(-1), [node]));
        Fault(StatusCodes.BadNothingToDo, new ReadRequest(0, TimestampsToReturn.Both, []));

        void Fault(StatusCode expected, ReadRequest request) => Assert.Equal(expected, Assert.Throws<UaException>(() => reading.Read(request)).Status);
    }

    private DataValue Read(NodeId node, uint attribute, TimestampsToReturn timestamps = TimestampsToReturn.Both) =>
        reading.Read(new ReadRequest(0, timestamps, [new ReadValueId(node, attribute, null, default)])).Results[0];
}
