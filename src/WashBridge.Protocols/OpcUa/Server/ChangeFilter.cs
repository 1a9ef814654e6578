using System.Globalization;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Decides which values are changes worth reporting (OPC 10000-4, 7.22.2; percent dead band: OPC 10000-8, 7.2).</summary>
/// <param name="deadBand">In the value's unit; negative: none.</param>
internal sealed class ChangeFilter(DataChangeTrigger trigger, double deadBand)
{
    private const uint EventFilterId = 727;
    private const uint AggregateFilterId = 730;

    /// <summary>What is used when the client asks for nothing: every change of value or status.</summary>
    public static ChangeFilter Default { get; } = new(DataChangeTrigger.StatusValue, -1);

    /// <exception cref="UaException">The status code of the item: the filter is of another kind, malformed, or not for this variable.</exception>
    public static ChangeFilter Parse(ExtensionObject filter, UaNode node, uint attributeId)
    {
        if (filter.EncodingId.IsNull)
        {
            return Default;
        }

        if (filter.EncodingId == new NodeId(EventFilterId) || filter.EncodingId == new NodeId(AggregateFilterId))
        {
            throw new UaException(StatusCodes.BadMonitoredItemFilterUnsupported, "only data changes can be monitored here");
        }

        if (!TryDecode(filter, out var wanted) || !Enum.IsDefined(wanted.Trigger))
        {
            throw new UaException(StatusCodes.BadMonitoredItemFilterInvalid, "not a data change filter, or one with an unknown trigger");
        }

        if (attributeId != AttributeIds.Value || node is not UaVariable variable)
        {
            throw new UaException(StatusCodes.BadFilterNotAllowed, "only values can be filtered");
        }

        return new ChangeFilter(wanted.Trigger, DeadBand(wanted, variable));
    }

    /// <summary>Whether <paramref name="next"/> is reported after <paramref name="last"/> was.</summary>
    public bool IsChange(in DataValue last, in DataValue next)
    {
        if (last.Status != next.Status)
        {
            return true;
        }

        if (trigger == DataChangeTrigger.Status)
        {
            return false;
        }

        if (deadBand >= 0 && !next.Value.IsNull)
        {
            // With a dead band, a change of the time alone does not count (OPC 10000-4, 7.22.2).
            return IsBeyondDeadBand(last.Value, next.Value);
        }

        return last.Value != next.Value
            || (trigger == DataChangeTrigger.StatusValueTimestamp && last.SourceTimestamp != next.SourceTimestamp);
    }

    private static bool TryDecode(ExtensionObject filter, out DataChangeFilter wanted)
    {
        try
        {
            var known = filter.TryDecode<DataChangeFilter>(DecodingLimits.Default, out var decoded);
            wanted = decoded!;
            return known && decoded is not null;
        }
        catch (UaException)
        {
            wanted = null!;
            return false;
        }
    }

    private static double DeadBand(DataChangeFilter wanted, UaVariable variable)
    {
        var (kind, value) = (wanted.DeadbandType, wanted.DeadbandValue);
        switch (kind)
        {
            case DeadbandKind.None:
                return -1;
            case DeadbandKind.Absolute or DeadbandKind.Percent when !variable.Definition.IsNumeric:
                throw new UaException(StatusCodes.BadFilterNotAllowed, $"a dead band on {variable.Definition.Type}; allowed: numbers");
            case DeadbandKind.Absolute when value >= 0 && double.IsFinite(value):
                return value;
            case DeadbandKind.Percent when value is >= 0 and <= 100 && variable.Definition.Range is { } range:
                return value / 100 * (range.High - range.Low);
            default:
                throw new UaException(StatusCodes.BadDeadbandFilterInvalid, $"dead band {kind} of {value}; allowed: absolute, not negative; 0 to 100 percent of an EURange, if there is one");
        }
    }

    private bool IsBeyondDeadBand(Variant last, Variant next)
    {
        if (!next.IsArray && !last.IsArray)
        {
            return !last.TryGetNumber(out var a) || !next.TryGetNumber(out var b) || IsBeyond(a, b);
        }

        if (last.Elements is not { } before || next.Elements is not { } after || before.Length != after.Length)
        {
            return true;
        }

        for (var i = 0; i < after.Length; i++)
        {
            if (IsBeyond(Convert.ToDouble(before.GetValue(i), CultureInfo.InvariantCulture), Convert.ToDouble(after.GetValue(i), CultureInfo.InvariantCulture)))
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Not-a-number is no distance away from itself, and beyond every band from all else.</summary>
    private bool IsBeyond(double last, double next) =>
        double.IsNaN(last) || double.IsNaN(next) ? double.IsNaN(last) != double.IsNaN(next)
        : last != next && !(Math.Abs(next - last) <= deadBand);
}
