using System.Text.RegularExpressions;
using WashBridge.Configuration.Yaml;
using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Configuration.Binding;

/// <summary>One line of a tag map.</summary>
internal static partial class TagBinder
{
    /// <summary>Units in which a setpoint may be given: those of the catalogue, and those of times, counts and volumes.</summary>
    public static IReadOnlyList<string> SetpointUnits { get; } =
        [.. SignalCatalogue.All.Select(d => d.Unit).Where(u => u.Length > 0).Distinct(), "ms", "s", "min", "h", "L", "1"];

    private static readonly TextForm SignalForm = new(SignalPattern(), "a name of the signal catalogue, such as temperature.caustic");

    public static Tag? Bind(MapBinder map, SourceBinder sources, TagContext context)
    {
        var before = map.Problems.Count;
        var definition = Definition(map);
        var station = Station(map, definition, context);
        var group = Group(map, context);
        var source = sources.Bind(map);
        var unit = Unit(map, definition);
        var tag = new Tag
        {
            Signal = new Signal(context.Washer, station, NameOf(map), unit, definition?.Type ?? SignalType.Quantity),
            Group = group,
            Source = source ?? new ModbusSource(new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.UInt16)),
            Scale = map.OptionalNumber("scale") ?? 1,
            Offset = map.OptionalNumber("offset") ?? 0,
            Invert = map.Flag("invert", false),
            DeadBand = map.OptionalNumber("dead-band", 0) ?? 0,
            Minimum = map.OptionalNumber("minimum"),
            Maximum = map.OptionalNumber("maximum"),
        };
        map.OptionalText("note", TextForms.Line);
        map.Finish();
        if (definition is not null && source is not null)
        {
            TagChecks.Check(map, tag);
        }

        return map.Problems.Count > before ? null : tag;
    }

    private static string NameOf(MapBinder map) => (map.Node.Find("signal")?.Value as YamlScalar)?.Text ?? "";

    private static SignalDefinition? Definition(MapBinder map)
    {
        if (map.Text("signal", SignalForm) is not { Length: > 0 } name)
        {
            return null;
        }

        if (SignalCatalogue.Find(name) is not { } definition)
        {
            var names = SignalCatalogue.All.Select(d => d.Name).ToList();
            map.Problems.Add(map.PlaceOf("signal"), $"there is no such signal{Suggestion.For(name, names)}", $"\"{name}\"", Scalars.OneOf(names));
            return null;
        }

        return definition;
    }

    private static int Station(MapBinder map, SignalDefinition? definition, TagContext context)
    {
        var station = map.OptionalInteger("station", 1, context.Stations);
        var given = map.Node.Find("station") is not null;
        if (definition?.Scope == SignalScope.Station && !given)
        {
            map.Problems.Add(map.PlaceOf("station"), $"{definition.Name} belongs to a station: the key station is missing", "", Scalars.WholeRange(1, context.Stations));
        }
        else if (definition?.Scope == SignalScope.Washer && given)
        {
            map.Problems.Add(map.Node.Find("station")!.Value, $"{definition.Name} belongs to the washer as a whole", "leave it out");
        }

        return station ?? 0;
    }

    private static int Group(MapBinder map, TagContext context)
    {
        var group = map.Integer("group", 0, 255);
        if (map.Node.Find("group") is { } entry && context.Groups.Count > 0 && context.Groups.All(g => g.Number != group))
        {
            map.Problems.Add(entry.Value, "the washer has no such poll group", Scalars.OneOf(context.Groups.Select(g => $"{g.Number} ({g.Name})")));
        }

        return group;
    }

    private static string Unit(MapBinder map, SignalDefinition? definition)
    {
        var name = NameOf(map);
        var unit = map.OptionalText("unit", TextForms.Unit);
        var isOpen = definition is { Type: SignalType.Quantity, Unit: "" };
        if (definition is null || (unit is null && map.Node.Find("unit") is not null))
        {
            return "";
        }

        if (isOpen && unit is null)
        {
            map.Problems.Add(map.PlaceOf("unit"), $"the catalogue knows no unit for {name}: the key unit is missing", "", Scalars.OneOf(SetpointUnits));
        }
        else if (isOpen && definition.Name == "setpoint.*" && !SetpointUnits.Contains(unit!))
        {
            map.Problems.Add(map.PlaceOf("unit"), "this is no unit of a setpoint", $"\"{unit}\"", Scalars.OneOf(SetpointUnits));
        }
        else if (!isOpen && unit is not null && unit != definition.Unit)
        {
            var message = definition.Unit.Length > 0 ? $"{name} is kept in another unit: scale and offset must bring the controller's value to it" : $"{name} has no unit";
            map.Problems.Add(map.PlaceOf("unit"), message, $"\"{unit}\"", definition.Unit.Length > 0 ? definition.Unit : "leave it out");
        }

        return isOpen ? unit ?? "" : definition.Unit;
    }

    [GeneratedRegex(@"^[a-z0-9]+([.-][a-z0-9]+){0,9}\z")]
    private static partial Regex SignalPattern();
}
