using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Browsing;

/// <summary>What a server tells of a variable.</summary>
/// <param name="Node">Its id.</param>
/// <param name="Value">Its value, or why there is none.</param>
/// <param name="DataType">Id of its data type; null: not told.</param>
/// <param name="IsReadable">False: this user may not read it.</param>
/// <param name="MinimumSampling">The server looks no more often; null: not told.</param>
/// <param name="Unit">Its EngineeringUnits (OPC 10000-8, 5.6.3); null: it has none.</param>
internal sealed record Variable(NodeId Node, DataValue Value, NodeId? DataType, bool IsReadable, TimeSpan? MinimumSampling, EUInformation? Unit)
{
    /// <summary>Its built-in type, with the number of elements if it is an array.</summary>
    public string TypeName => Value.Value switch
    {
        { IsNull: false, IsArray: true } value => $"{value.Type}[{string.Join(" x ", value.Dimensions ?? [value.Elements!.Length])}]",
        { IsNull: false } value => value.Type.ToString(),
        _ => DataType is { Namespace: 0, Kind: IdentifierType.Numeric, Number: > 0 and <= (uint)BuiltInType.DiagnosticInfo } type ? ((BuiltInType)type.Number).ToString() : "-",
    };

    /// <summary>As people write it; empty if there is none.</summary>
    public string UnitName => UnitSymbols.Of(Unit);
}

/// <summary>Reads variables with their type, access and unit: three rounds, however many there are.</summary>
internal static class VariableReader
{
    private const byte CurrentRead = 1;
    private static readonly NodeId HasProperty = new(46);
    private static readonly uint[] Attributes = [AttributeIds.Value, AttributeIds.DataType, AttributeIds.UserAccessLevel, AttributeIds.MinimumSamplingInterval];

    /// <param name="nodes">Those that are the null id come back as null.</param>
    /// <returns>In the same order, with the server's clock at the last answer.</returns>
    /// <exception cref="UaException">A request as a whole failed.</exception>
    public static async Task<(IReadOnlyList<Variable?> Variables, DateTime ServerTime)> ReadAsync(UaSession session, IReadOnlyList<NodeId> nodes, CancellationToken cancellation)
    {
        var known = nodes.Index().Where(n => !n.Item.IsNull).ToList();
        var variables = new Variable?[nodes.Count];
        if (known.Count == 0)
        {
            return (variables, default);
        }

        var requests = known.SelectMany(n => Attributes.Select(a => new ReadValueId(n.Item, a, null, default))).ToList();
        var read = await session.ReadAsync(requests, cancellation: cancellation);
        var units = await ReadUnitsAsync(session, [.. known.Select(n => n.Item)], cancellation);
        for (var i = 0; i < known.Count; i++)
        {
            var (value, type, access, sampling) = (read.Values[4 * i], read.Values[(4 * i) + 1], read.Values[(4 * i) + 2], read.Values[(4 * i) + 3]);
            variables[known[i].Index] = new Variable(
                known[i].Item,
                value,
                type.Status.IsBad ? null : type.Value.As<NodeId>(),
                access.Status.IsBad || access.Value.Type != BuiltInType.Byte || (access.Value.As<byte>() & CurrentRead) != 0,
                sampling.Status.IsGood && sampling.Value.TryGetNumber(out var milliseconds) && milliseconds is > 0 and < 86_400_000 ? TimeSpan.FromMilliseconds(milliseconds) : null,
                units[i]);
        }

        return (variables, read.ServerTime);
    }

    private static async Task<EUInformation?[]> ReadUnitsAsync(UaSession session, List<NodeId> nodes, CancellationToken cancellation)
    {
        var properties = await session.BrowseAsync([.. nodes.Select(n => new BrowseDescription(n, BrowseDirection.Forward, HasProperty, true, (uint)NodeClass.Variable, 63))], cancellation);
        var found = properties.Select(p => p.References.FirstOrDefault(r => r.BrowseName == new QualifiedName(0, "EngineeringUnits"))?.NodeId.Node ?? NodeId.Null).ToList();
        var asked = found.Where(n => !n.IsNull).ToList();
        var read = asked.Count == 0 ? [] : (await session.ReadValuesAsync(asked, cancellation: cancellation)).Values;
        var units = new EUInformation?[nodes.Count];
        for (int i = 0, next = 0; i < nodes.Count; i++)
        {
            units[i] = found[i].IsNull ? null : Decode(read[next++]);
        }

        return units;
    }

    private static EUInformation? Decode(DataValue value)
    {
        try
        {
            return value.Value.Type == BuiltInType.ExtensionObject && value.Value.As<ExtensionObject>().TryDecode<EUInformation>(DecodingLimits.Default, out var unit) ? unit : null;
        }
        catch (UaException)
        {
            return null;
        }
    }
}
