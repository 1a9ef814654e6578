using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

public sealed class AddressSpaceTests
{
    private static readonly DateTime Start = new(2026, 3, 1, 6, 0, 0, DateTimeKind.Utc);

    private readonly FakeTimeProvider time = new(Start);
    private readonly AddressSpace space;
    private readonly ushort ns;

    public AddressSpaceTests()
    {
        space = new AddressSpace(time);
        ns = space.AddNamespace("urn:test:washer");
    }

    /// <summary>OPC 10000-3, 8.2.2: index 0 is the standard's namespace, 1 the server's own.</summary>
    [Fact]
    public void Namespaces_of_ours_begin_at_two_and_are_added_once()
    {
        Assert.Equal(2, ns);
        Assert.Equal(2, space.AddNamespace("urn:test:washer"));
        Assert.Equal(3, space.AddNamespace("urn:test:other"));
        Assert.Equal(0, space.AddNamespace("http://opcfoundation.org/UA/"));
    }

    [Fact]
    public void A_value_carries_the_times_of_its_source_and_of_being_set()
    {
        var variable = space.AddVariable(space.Objects, new NodeId(ns, "T"), "T", new VariableDefinition(BuiltInType.Double));
        Assert.Equal(StatusCodes.BadWaitingForInitialData, variable.Current.Status);
        time.Advance(TimeSpan.FromSeconds(5));
        variable.Set(81.5, StatusCodes.UncertainSubNormal, Start.AddSeconds(4));
        Assert.Equal(new DataValue(81.5, StatusCodes.UncertainSubNormal, Start.AddSeconds(4), Start.AddSeconds(5)), variable.Current);
    }

    [Fact]
    public void A_value_of_another_type_or_rank_is_refused()
    {
        var variable = space.AddVariable(space.Objects, new NodeId(ns, "T"), "T", new VariableDefinition(BuiltInType.Double));
        Assert.Contains("Int32", Assert.Throws<ArgumentException>(() => variable.Set(1)).Message, StringComparison.Ordinal);
        Assert.Throws<ArgumentException>(() => variable.Set(Variant.ArrayOf([1.0])));
        variable.Set(default, StatusCodes.BadNoCommunication);
    }

    [Fact]
    public void An_id_is_given_once_and_in_a_known_namespace()
    {
        space.AddFolder(space.Objects, new NodeId(ns, "W1"), "W1");
        Assert.Contains("W1", Assert.Throws<ArgumentException>(() => space.AddFolder(space.Objects, new NodeId(ns, "W1"), "W2")).Message, StringComparison.Ordinal);
        Assert.Throws<ArgumentException>(() => space.AddFolder(space.Objects, new NodeId(9, "W1"), "W1"));
        Assert.Throws<ArgumentException>(() => space.AddFolder(space.Objects, NodeId.Null, "W1"));
        Assert.Contains("namespace 0", Assert.Throws<ArgumentException>(() => space.AddFolder(space.Objects, new NodeId(99_999), "W1")).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Removing_a_folder_removes_what_is_below_it()
    {
        var before = space.Count;
        var folder = space.AddFolder(space.Objects, new NodeId(ns, "W1"), "W1");
        space.AddVariable(folder, new NodeId(ns, "W1.T"), "T", new VariableDefinition(BuiltInType.Float) { Range = new EURange(0, 100), Unit = Units.Celsius });
        Assert.Equal(before + 4, space.Count);
        Assert.True(space.Remove(folder));
        Assert.Equal(before, space.Count);
        Assert.False(space.Remove(folder));
        Assert.Throws<ArgumentException>(() => space.Remove(space.Objects));
    }

    /// <summary>OPC 10000-8, 5.6.3.3 gives the algorithm: "CEL" is 0x43, 0x45, 0x4C. Value from memory for MMT.</summary>
    [Fact]
    public void Unit_ids_are_the_common_codes_read_as_numbers()
    {
        Assert.Equal(0x43454C, Units.Celsius.UnitId);
        Assert.Equal(5066068, Units.Unece("MMT", "mm", "millimetre").UnitId);
        Assert.Throws<ArgumentException>(() => Units.Unece("METRE", "m", "metre"));
        Assert.Throws<ArgumentException>(() => Units.Unece("", "", ""));
    }
}
