using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Which changes count (OPC 10000-4, 7.22.2; OPC 10000-8, 7.2).</summary>
public sealed class ChangeFilterTests
{
    private static readonly DateTime Noon = new(2026, 3, 1, 12, 0, 0, DateTimeKind.Utc);

    private readonly ServerFixture server = new();

    [Theory]
    [InlineData(DataChangeTrigger.Status, false, false, true)]
    [InlineData(DataChangeTrigger.StatusValue, true, false, true)]
    [InlineData(DataChangeTrigger.StatusValueTimestamp, true, true, true)]
    public void The_trigger_decides_what_is_compared(DataChangeTrigger trigger, bool onValue, bool onTime, bool onStatus)
    {
        var filter = new ChangeFilter(trigger, -1);
        var last = new DataValue(1.0, StatusCodes.Good, Noon);
        Assert.False(filter.IsChange(last, last));
        Assert.Equal(onValue, filter.IsChange(last, last with { Value = 1.1 }));
        Assert.Equal(onTime, filter.IsChange(last, last with { SourceTimestamp = Noon.AddSeconds(1) }));
        Assert.Equal(onStatus, filter.IsChange(last, last with { Status = StatusCodes.UncertainSubNormal }));
    }

    /// <summary>|last - current| > dead band; with a dead band the third trigger is the same as the second.</summary>
    [Theory]
    [InlineData(10.0, 12.0, false)]
    [InlineData(10.0, 12.1, true)]
    [InlineData(10.0, 7.9, true)]
    [InlineData(10.0, double.NaN, true)]
    [InlineData(double.NaN, 10.0, true)]
    [InlineData(double.NaN, double.NaN, false)]
    [InlineData(10.0, double.PositiveInfinity, true)]
    [InlineData(double.PositiveInfinity, double.PositiveInfinity, false)]
    public void An_absolute_dead_band_hides_small_changes(double last, double next, bool isChange)
    {
        var filter = new ChangeFilter(DataChangeTrigger.StatusValueTimestamp, 2);
        Assert.Equal(isChange, filter.IsChange(new DataValue(last, default, Noon), new DataValue(next, default, Noon.AddSeconds(1))));
    }

    [Fact]
    public void Of_an_array_one_element_beyond_the_dead_band_is_enough_or_another_length()
    {
        var filter = new ChangeFilter(DataChangeTrigger.StatusValue, 2);
        var last = new DataValue(Variant.ArrayOf([1, 2, 3]));
        Assert.False(filter.IsChange(last, new DataValue(Variant.ArrayOf([3, 0, 5]))));
        Assert.True(filter.IsChange(last, new DataValue(Variant.ArrayOf([1, 2, 6]))));
        Assert.True(filter.IsChange(last, new DataValue(Variant.ArrayOf([1, 2]))));
        Assert.True(filter.IsChange(last, new DataValue(default)));
    }

    /// <summary>OPC 10000-8, 7.2: percent of the range from low to high; here 5 % of 200.</summary>
    [Fact]
    public void A_percent_dead_band_is_of_the_range()
    {
        var variable = server.Variable("V", range: new EURange(-100, 100));
        var filter = ChangeFilter.Parse(Filter(DeadbandKind.Percent, 5), variable, AttributeIds.Value);
        Assert.False(filter.IsChange(new DataValue(0.0), new DataValue(10.0)));
        Assert.True(filter.IsChange(new DataValue(0.0), new DataValue(10.01)));
    }

    [Theory]
    [InlineData(DeadbandKind.Percent, 5.0, false, BuiltInType.Double, 0x808E_0000)]
    [InlineData(DeadbandKind.Percent, 101.0, true, BuiltInType.Double, 0x808E_0000)]
    [InlineData(DeadbandKind.Percent, -1.0, true, BuiltInType.Double, 0x808E_0000)]
    [InlineData(DeadbandKind.Absolute, -1.0, true, BuiltInType.Double, 0x808E_0000)]
    [InlineData(DeadbandKind.Absolute, double.NaN, true, BuiltInType.Double, 0x808E_0000)]
    [InlineData((DeadbandKind)3, 1.0, true, BuiltInType.Double, 0x808E_0000)]
    [InlineData(DeadbandKind.Absolute, 1.0, false, BuiltInType.String, 0x8045_0000)]
    public void A_dead_band_that_makes_no_sense_is_refused(DeadbandKind kind, double value, bool hasRange, BuiltInType type, uint expected)
    {
        var variable = server.Variable("V", type, hasRange ? new EURange(0, 10) : null);
        Assert.Equal(new StatusCode(expected), Assert.Throws<UaException>(() => ChangeFilter.Parse(Filter(kind, value), variable, AttributeIds.Value)).Status);
    }

    [Fact]
    public void Filters_of_other_kinds_and_for_other_attributes_are_refused()
    {
        var variable = server.Variable("V");
        Refused(StatusCodes.BadFilterNotAllowed, Filter(DeadbandKind.None, 0), AttributeIds.DisplayName);
        Refused(StatusCodes.BadMonitoredItemFilterUnsupported, new ExtensionObject(new NodeId(727), []), AttributeIds.Value);
        Refused(StatusCodes.BadMonitoredItemFilterInvalid, new ExtensionObject(new NodeId(886), []), AttributeIds.Value);
        Refused(StatusCodes.BadMonitoredItemFilterInvalid, new ExtensionObject(new NodeId(724), [1, 2]), AttributeIds.Value);
        Refused(StatusCodes.BadMonitoredItemFilterInvalid, ExtensionObject.Of(new DataChangeFilter((DataChangeTrigger)9, DeadbandKind.None, 0)), AttributeIds.Value);

        void Refused(StatusCode expected, ExtensionObject filter, uint attribute) =>
            Assert.Equal(expected, Assert.Throws<UaException>(() => ChangeFilter.Parse(filter, variable, attribute)).Status);
    }

    private static ExtensionObject Filter(DeadbandKind kind, double value) => ExtensionObject.Of(new DataChangeFilter(DataChangeTrigger.StatusValue, kind, value));
}
