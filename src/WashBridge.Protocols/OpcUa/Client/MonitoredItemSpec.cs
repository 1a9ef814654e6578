using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>A node to watch (OPC 10000-4, 5.13.2). The server may revise the sampling interval and the queue's length.</summary>
public sealed record MonitoredItemSpec
{
    /// <summary>Names the item in everything that the listener is told.</summary>
    public required uint ClientHandle { get; init; }

    public required NodeAddress Node { get; init; }

    /// <summary><see cref="AttributeIds.Value"/> by default.</summary>
    public uint AttributeId { get; init; } = AttributeIds.Value;

    /// <summary>Elements of an array such as <c>2</c> or <c>0:3</c> (OPC 10000-4, 7.27); null: all.</summary>
    public string? IndexRange { get; init; }

    /// <summary>How often the server looks; zero: as fast as it can, or by exception; null: as often as it publishes. At most 1 day.</summary>
    public TimeSpan? SamplingInterval { get; init; }

    /// <summary>Values that the server keeps until they are published, 1 to 1,000,000; 10 by default. Those that do not fit are lost, and the one beside them has the overflow bit.</summary>
    public uint QueueSize { get; init; } = 10;

    /// <summary>Which value is lost if the queue is full: the oldest (true, the default) or the newest before the last.</summary>
    public bool DiscardOldest { get; init; } = true;

    /// <summary>Status and value by default.</summary>
    public DataChangeTrigger Trigger { get; init; } = DataChangeTrigger.StatusValue;

    /// <summary>None by default: every change is told.</summary>
    public DeadBand DeadBand { get; init; }

    internal void Validate()
    {
        if (Node is null || QueueSize is < 1 or > 1_000_000 || SamplingInterval is { } s && (s < TimeSpan.Zero || s > TimeSpan.FromDays(1)))
        {
            throw new ArgumentException(
                $"item {ClientHandle} ({Node}): queue of {QueueSize}, sampling interval {SamplingInterval}; allowed: a node, 1 to 1,000,000, and 0 to 1 day or none");
        }
    }
}

/// <summary>Changes smaller than this are not told (OPC 10000-4, 7.22.2; OPC 10000-8, 6.2).</summary>
public readonly record struct DeadBand
{
    private DeadBand(DeadbandKind kind, double value) => (Kind, Value) = (kind, value);

    public static DeadBand None => default;

    public DeadbandKind Kind { get; }

    public double Value { get; }

    /// <param name="value">In the unit of the node's value; 0 or more.</param>
    public static DeadBand Absolute(double value) => value is >= 0 and < double.PositiveInfinity
        ? new DeadBand(DeadbandKind.Absolute, value)
        : throw new ArgumentOutOfRangeException(nameof(value), value, "allowed: 0 or more, in the unit of the value");

    /// <param name="value">0 to 100 percent of the node's EURange, which the node must have.</param>
    public static DeadBand Percent(double value) => value is >= 0 and <= 100
        ? new DeadBand(DeadbandKind.Percent, value)
        : throw new ArgumentOutOfRangeException(nameof(value), value, "allowed: 0 to 100 percent of the EURange");

    public override string ToString() => Kind switch
    {
        DeadbandKind.Absolute => $"{Value}",
        DeadbandKind.Percent => $"{Value} %",
        _ => "none",
    };
}
