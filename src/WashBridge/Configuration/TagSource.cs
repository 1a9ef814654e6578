using WashBridge.Protocols.Modbus;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Configuration;

/// <summary>Where a controller keeps a value.</summary>
internal abstract record TagSource;

internal sealed record ModbusSource(ModbusPoint Point) : TagSource;

/// <param name="Node">The variable. Namespaces that the tag map names stand in it as URIs.</param>
/// <param name="Index">Element of an array, from 0; null: the value is no array.</param>
/// <param name="Bit">Bit of a whole number, 0 being the least significant; null: the value itself.</param>
/// <param name="Queue">Samples that the server keeps until it publishes them, 2 to 1,000.</param>
internal sealed record OpcUaSource(NodeAddress Node, int? Index = null, int? Bit = null, int Queue = OpcUaSource.StandardQueue) : TagSource
{
    /// <summary>Twice what gathers when a publish comes five intervals late.</summary>
    public const int StandardQueue = 10;

    /// <summary>The node as the tag map has it.</summary>
    public string Written { get; init; } = Node.ToString();

    public override string ToString() => $"{Written}{(Index is { } index ? $"[{index}]" : "")}{(Bit is { } bit ? $" bit {bit}" : "")}";
}
