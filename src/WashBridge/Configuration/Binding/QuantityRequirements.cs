using WashBridge.Configuration.Yaml;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;

namespace WashBridge.Configuration.Binding;

/// <summary>Requirements on measured quantities: limits carry their unit, and it must be the signal's.</summary>
internal static class QuantityRequirements
{
    private static readonly TimeSpan Least = TimeSpan.FromMilliseconds(100);
    private static readonly TimeSpan Most = TimeSpan.FromHours(24);

    /// <summary>Volume fractions as people write them, by what they are divided by.</summary>
    private static readonly Dictionary<string, double> Fractions = new() { ["%"] = 100, ["ppm"] = 1e6 };

    public static TimeBeyond BindTimeBeyond(MapBinder map, string id, string title)
    {
        var signal = Quantity(map);
        var above = map.Find("above");
        var below = map.Find("below");
        if (above is null == below is null)
        {
            map.Problems.Add(map.Place, "a time beyond a value needs exactly one of above and below", above is null ? "neither" : "both", $"above or below, such as above: 75 {signal?.Unit ?? "Cel"}");
        }

        return new TimeBeyond
        {
            Id = id,
            Title = title,
            Signal = SignalName(map),
            Value = (above ?? below) is { } limit && signal is not null ? Amount(limit, signal.Unit, map.Problems) : 0,
            Below = below is not null,
            Phases = RequirementBinder.Phases(map, required: true),
            AtLeast = map.Duration("at-least", Least, Most),
            SensorUncertainty = Uncertainty(map, signal),
        };
    }

    public static ThermalDose BindThermalDose(MapBinder map, string id, string title)
    {
        var method = map.Choice<DoseMethod>("method");
        var signal = Quantity(map);
        if (signal is { Unit: not ("Cel" or "") })
        {
            map.Problems.Add(map.PlaceOf("signal"), "a thermal dose needs a temperature", $"\"{SignalName(map)}\" in {signal.Unit}", Scalars.OneOf(SignalCatalogue.All.Where(d => d.Unit == "Cel").Select(d => d.Name)));
            signal = null;
        }

        var atLeast = map.Duration("at-least", Least, TimeSpan.FromDays(7));
        return new ThermalDose
        {
            Id = id,
            Title = title,
            Method = method,
            Signal = SignalName(map),
            Phases = RequirementBinder.Phases(map, required: true),
            AtLeast = method == DoseMethod.A0 ? atLeast.TotalSeconds : atLeast.TotalMinutes,
            SensorUncertainty = Uncertainty(map, signal),
        };
    }

    public static ResidualOxygen BindResidualOxygen(MapBinder map, string id, string title) => new()
    {
        Id = id,
        Title = title,
        Phase = RequirementBinder.Phase(map),
        AtMost = map.Require("at-most", "a volume fraction such as 1 % or 500 ppm") is { } atMost ? Fraction(atMost, map.Problems) : 0,
        Initial = map.Find("initial") is { } initial ? Fraction(initial, map.Problems) : 0.2095,
        InPurgeGas = map.Find("in-purge-gas") is { } inGas ? Fraction(inGas, map.Problems) : 0,
        SensorUncertainty = map.Find("sensor-uncertainty") is { } uncertainty ? NotNegative(uncertainty, "bar", map.Problems) : 0,
    };

    private static string SignalName(MapBinder map) => (map.Node.Find("signal")?.Value as YamlScalar)?.Text ?? "";

    private static SignalDefinition? Quantity(MapBinder map)
    {
        if (map.Require("signal", "a measured quantity of the signal catalogue") is not { } node)
        {
            return null;
        }

        if (node is YamlScalar { Kind: ScalarKind.Text } name && SignalCatalogue.Find(name.Text) is { Type: SignalType.Quantity } definition)
        {
            return definition;
        }

        var quantities = SignalCatalogue.All.Where(d => d.Type == SignalType.Quantity).Select(d => d.Name).ToList();
        map.Problems.Add(node, $"this is no measured quantity{Suggestion.For((node as YamlScalar)?.Text ?? "", quantities)}", Scalars.OneOf(quantities));
        return null;
    }

    private static double Uncertainty(MapBinder map, SignalDefinition? signal)
    {
        var node = map.Find("sensor-uncertainty");
        var unit = signal?.Unit switch { "Cel" => "K", "bar(a)" => "bar", var other => other };
        return node is null || unit is null ? 0 : NotNegative(node, unit, map.Problems);
    }

    private static double NotNegative(YamlNode node, string unit, ProblemList problems)
    {
        var value = Amount(node, unit, problems);
        if (value < 0)
        {
            problems.Add(node, "an uncertainty is never negative", $"0 {unit} or more");
        }

        return value;
    }

    /// <summary>A number with exactly this unit. An empty unit stands for signals of the site's own: any is taken, and compared with the map later.</summary>
    private static double Amount(YamlNode node, string unit, ProblemList problems)
    {
        if (node is YamlScalar { Kind: ScalarKind.Text } scalar && Amounts.Parse(scalar.Text) is { } amount && (amount.Unit == unit || unit.Length == 0))
        {
            return amount.Value;
        }

        problems.Add(node, "this must be an amount in the signal's unit", unit.Length > 0 ? $"a number and {unit}, such as 1 {unit}" : "a number and the unit that the tag map gives");
        return 0;
    }

    private static double Fraction(YamlNode node, ProblemList problems)
    {
        if (node is YamlScalar { Kind: ScalarKind.Text } scalar && Amounts.Parse(scalar.Text) is { } amount && Fractions.TryGetValue(amount.Unit, out var divisor) && amount.Value >= 0 && amount.Value <= divisor)
        {
            return amount.Value / divisor;
        }

        problems.Add(node, "this must be a volume fraction", "a number and % or ppm, from 0 % to 100 %");
        return 0;
    }
}
