using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Configuration.Binding;

/// <summary>Whether what the controller holds can become what the signal is.</summary>
internal static class TagChecks
{
    private static readonly RegisterType[] WholeTypes =
        [RegisterType.Int16, RegisterType.UInt16, RegisterType.Int32, RegisterType.UInt32, RegisterType.Int64, RegisterType.UInt64, RegisterType.Bcd16, RegisterType.Bcd32];

    public static IReadOnlyList<RegisterType> TypesFor(SignalType type) => type switch
    {
        SignalType.Flag => [RegisterType.Bit, RegisterType.Int16, RegisterType.UInt16],
        SignalType.Integer => WholeTypes,
        SignalType.Quantity => [.. WholeTypes, RegisterType.Float32, RegisterType.Float64],
        _ => [RegisterType.Text],
    };

    public static void Check(MapBinder map, Tag tag)
    {
        var type = tag.Signal.Type;
        if (tag.Source is ModbusSource { Point: var point } && !TypesFor(type).Contains(point.Type))
        {
            map.Problems.Add(map.PlaceOf("type"), $"{tag.Signal.Name} is {Describe(type)}", Names.NameOf(point.Type), Scalars.OneOf(TypesFor(type).Select(Names.NameOf)));
        }

        if (tag.Source is OpcUaSource)
        {
            Only("bit", type == SignalType.Flag, "signals that are true or false");
        }

        Only("invert", type == SignalType.Flag, "signals that are true or false");
        Only("dead-band", type == SignalType.Quantity, "measured quantities");
        Only("scale", type is SignalType.Quantity or SignalType.Integer, "numbers");
        Only("offset", type is SignalType.Quantity or SignalType.Integer, "numbers");
        Only("minimum", type is SignalType.Quantity or SignalType.Integer, "numbers");
        Only("maximum", type is SignalType.Quantity or SignalType.Integer, "numbers");
        if (tag.Scale == 0)
        {
            map.Problems.Add(map.PlaceOf("scale"), "a scale of 0 makes every value the same", "0", "any other number");
        }

        if (type == SignalType.Integer && (tag.Scale != Math.Floor(tag.Scale) || tag.Offset != Math.Floor(tag.Offset)))
        {
            map.Problems.Add(map.PlaceOf(tag.Scale != Math.Floor(tag.Scale) ? "scale" : "offset"), $"{tag.Signal.Name} is {Describe(type)} and must stay one", "a fraction", "whole numbers");
        }

        if (tag.Minimum is { } minimum && tag.Maximum is { } maximum && minimum >= maximum)
        {
            map.Problems.Add(map.Node.Find("minimum")!.Value, $"the minimum must lie below the maximum of {maximum}", $"a number below {maximum}");
        }

        void Only(string key, bool holds, string what)
        {
            if (!holds && map.Node.Find(key) is { } entry)
            {
                map.Problems.Add(entry.Value, $"{key} belongs to {what}, and {tag.Signal.Name} is {Describe(type)}", "leave it out");
            }
        }
    }

    private static string Describe(SignalType type) => type switch
    {
        SignalType.Flag => "true or false",
        SignalType.Integer => "a whole number",
        SignalType.Quantity => "a measured quantity",
        _ => "text",
    };
}
