using System.Globalization;
using WashBridge.Core.Alarms;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Alarms;

/// <summary>
/// All words of alarms in one place. They are read in wet gloves: short sentences, the place first, numbers with units. Each says what and where, what it
/// means for the kegs, and what to look at first; and what can hurt, where a person would touch the machine. What to look at is common practice, no source.
/// </summary>
public static class AlarmTexts
{
    private const string Procedures = "Follow the site's procedures and local codes; leave work on the machine to licensed practice.";
    private const string Isolate = "Stop the washer, isolate and lock it, and let it cool before you open anything. ";
    private const string Burns = "Hot caustic and acid burn: wear eye, face and hand protection. ";
    private const string Oxidiser = "Oxidising sanitiser burns and must not meet acid or caustic: wear eye, face and hand protection, ventilate. ";
    private const string Pressure = "Kegs and lines are pressure vessels: vent them before you open them. ";
    private const string Gas = "CO2 suffocates without warning: ventilate and watch the gas meter. ";
    private const string Electric = "The pump and the heater are live and start by themselves. ";

    public static AlarmText NotReadable(string washer, string reason) => new()
    {
        What = $"{washer}: the washer cannot be read. {Sentence(reason)}",
        Kegs = "Nothing is recorded. Kegs washed meanwhile cannot be proven.",
        LookAt = "Is the controller on? Then the network cable and the switch. Then the bridge's log.",
    };

    public static AlarmText KegsNotMet(string washer, IReadOnlyList<int> stations, int inARow, IReadOnlyList<string> requirements) => new()
    {
        What = $"{washer}, {Stations(stations)}: {inARow} kegs in a row or more did not meet the recipe ({string.Join(", ", requirements)}).",
        Kegs = "Hold these kegs back. Do not fill them before somebody has decided.",
        LookAt = "Read the report of these kegs. Compare the settings at the controller with the recipe. Then the step it names.",
        Caution = Isolate + Burns + Pressure + Procedures,
    };

    public static AlarmText Setpoint(string washer, SetpointFinding finding) => new()
    {
        What = $"{washer}: {finding.Setpoint} is set to {Number(finding.Set)} {finding.Unit}. The recipe {finding.Recipe} version {finding.RecipeVersion} says {Number(finding.Approved)} {finding.Unit}.",
        Kegs = finding.Set < finding.Approved
            ? "Kegs may get too little of it. Their verdicts say which."
            : "Kegs get more of it than planned. Time and chemicals are used up.",
        LookAt = "Ask who changed it and why. Set it back at the controller, or have the recipe approved anew.",
    };

    public static AlarmText Drift(string washer, DriftFinding finding)
    {
        var direction = finding.Size >= 0 ? "higher" : "lower";
        var size = finding.Chart == ChartKind.Group
            ? $"{Number(finding.Size)} spreads from usual, mostly {string.Join(", ", finding.Contributions.Take(3).Select(c => c.Feature))}"
            : $"{direction} than usual by {Number(Math.Abs(finding.Size))}{Unit(finding.Unit)} (usual: {Number(finding.Centre)}{Unit(finding.Unit)})";
        return new AlarmText
        {
            What = $"{Place(washer, finding.Feature)}: {FigureTitle.Of(finding.Feature)} ({finding.Feature}) is {size}.",
            Kegs = $"{finding.KegCount} kegs were washed since it began. {DriftMeaning(FamilyOf(finding.Feature))}",
            LookAt = DriftLook(FamilyOf(finding.Feature)),
            Caution = DriftCaution(FamilyOf(finding.Feature)),
        };
    }

    public static AlarmText Forecast(string washer, Forecast forecast)
    {
        var name = Title(forecast.Component);
        var limit = forecast.Limit is { } value ? $" of {Number(value)}{Unit(forecast.Unit)}" : "";
        return new AlarmText
        {
            What = forecast.State == ForecastState.Reached
                ? $"{washer}: {name} has reached its limit{limit}."
                : $"{washer}: {name} is wearing. When this alarm came, it had about {Cycles(forecast.CyclesLeft)} left{Interval(forecast)} until its limit{limit}.",
            Kegs = Meaning(forecast.Component.Kind),
            LookAt = (forecast.Causes.Count > 0 ? $"Likely: {forecast.Causes[0].Title}. " : "") + Look(forecast.Component.Kind),
            Caution = Caution(forecast.Component),
        };
    }

    /// <summary>A component for people, such as "drain valve of station 2".</summary>
    public static string Title(Component component)
    {
        var name = component.Kind switch
        {
            ComponentKind.DrainValve => "drain valve",
            ComponentKind.DrainSensor => "drain sensor",
            ComponentKind.SprayPump => "spray pump",
            ComponentKind.DosingTube => "dosing pump tube",
            ComponentKind.DosingCheckValve => "dosing check valve",
            ComponentKind.Heater => "heater",
            ComponentKind.Co2Supply => "CO2 supply",
            ComponentKind.Bath => "bath",
            _ => throw new ArgumentOutOfRangeException(nameof(component), component.Kind, null),
        };
        return (component.Of.Length > 0 ? $"{component.Of} {name}" : name) + (component.Station > 0 ? $" of station {component.Station}" : "");
    }

    /// <summary>What its wear means for the kegs.</summary>
    public static string Meaning(ComponentKind kind) => kind switch
    {
        ComponentKind.DrainValve => "Kegs drain slowly. Liquid can stay in them, and the washer stops when the drain takes too long.",
        ComponentKind.DrainSensor => "Drains are judged wrongly. Kegs can be passed on wet, and the washer can stop without need.",
        ComponentKind.SprayPump => "The spray loses force. Kegs are cleaned less well.",
        ComponentKind.DosingTube => "Baths get too little chemical for the time the pump runs. They become weak.",
        ComponentKind.DosingCheckValve => "Chemical runs back. Doses come late or too small, and baths become weak.",
        ComponentKind.Heater => "Baths warm up slowly. Kegs wait, or are washed too cold.",
        ComponentKind.Co2Supply => "Kegs are purged less well. Oxygen can stay in them.",
        _ => "The bath is losing strength. Kegs are cleaned or sanitised less well.",
    };

    /// <summary>What to look at first.</summary>
    public static string Look(ComponentKind kind) => kind switch
    {
        ComponentKind.DrainValve => "Strainer and seat of the drain valve: label pieces, glue, hop bits. Then its air pressure and stroke.",
        ComponentKind.DrainSensor => "Scale or film on the drain sensor. Then its cable.",
        ComponentKind.SprayPump => "Suction strainer and spray nozzles. Then seal and impeller of the pump.",
        ComponentKind.DosingTube => "The tube in the dosing pump: flat, cracked, or pushed out of place. Then air in the suction line and the canister's level.",
        ComponentKind.DosingCheckValve => "Crystals in the check valve and at the injection point. Then the suction line.",
        ComponentKind.Heater => "Scale on the heating element. Then its phases, the steam supply, and the temperature probe.",
        ComponentKind.Co2Supply => "Cylinder or tank pressure. Then regulator, filter and shut-off valves. Listen for leaks.",
        _ => "Titrate the bath. Then its level, the dosing, and whether rinse water gets in.",
    };

    /// <summary>What can hurt a person who works on it.</summary>
    public static string Caution(Component component) => component.Kind switch
    {
        ComponentKind.DrainValve or ComponentKind.DrainSensor => Isolate + Burns + Pressure + Procedures,
        ComponentKind.SprayPump or ComponentKind.Heater => Isolate + Electric + Burns + Procedures,
        ComponentKind.Co2Supply => Gas + Pressure + Procedures,
        _ => Isolate + (component.Of == "sanitiser" ? Oxidiser : Burns) + Pressure + Procedures,
    };

    /// <summary>The part that figures of a family mostly tell of; null: of none by itself.</summary>
    private static ComponentKind? PartOf(string family) => family switch
    {
        "temperature-mean" or "temperature-return" or "heat-up-rate" or "heater-time" => ComponentKind.Heater,
        "strength" or "level" => ComponentKind.Bath,
        "spray-pressure" or "spray-current" or "spray-flow" => ComponentKind.SprayPump,
        "drain-index" or "drain-time" => ComponentKind.DrainValve,
        "drain-bounce" or "drain-wet-before" => ComponentKind.DrainSensor,
        "purge-high" or "purge-low" or "purge-rise" or "co2-rest" or "co2-flow" => ComponentKind.Co2Supply,
        "dosing-time" or "dosing-response" => ComponentKind.DosingTube,
        _ => null,
    };

    /// <summary>What a figure that moved to its bad side means for the kegs.</summary>
    /// <param name="feature">Key of a figure, of a difference from peers, or of a group.</param>
    public static string Meaning(string feature)
    {
        ArgumentNullException.ThrowIfNull(feature);
        return DriftMeaning(FamilyOf(feature));
    }

    private static string DriftMeaning(string family) => PartOf(family) is { } part ? Meaning(part) : family switch
    {
        "rinse-out" => "Chemical may stay in the kegs.",
        "timing" => "Steps take other times than they are set to. Kegs may get too little.",
        "water-pressure" => "Kegs are rinsed with less water.",
        "air-pressure" => "Valves move slowly. Steps and drains suffer.",
        _ => "Their verdicts say whether they met the recipe.",
    };

    private static string DriftLook(string family) => PartOf(family) is { } part ? Look(part) : family switch
    {
        "rinse-out" => "Rinse water: pressure and valve. Then the drain before the rinse.",
        "timing" => "Compare the timers at the controller with the recipe. Then the controller's load and faults.",
        "water-pressure" => "Water main, filter and pressure reducer.",
        "air-pressure" => "Compressor, filter and reducer. Listen for leaks.",
        _ => "Compare the cycles before and after it began in the report.",
    };

    private static string DriftCaution(string family) => family switch
    {
        "temperature-mean" or "temperature-return" or "heat-up-rate" or "heater-time" or "spray-pressure" or "spray-current" or "spray-flow" => Isolate + Electric + Burns + Procedures,
        "strength" or "level" or "dosing-time" or "dosing-response" => Isolate + Burns + Oxidiser + Procedures,
        "purge-high" or "purge-low" or "purge-rise" or "co2-rest" or "co2-flow" => Gas + Pressure + Procedures,
        "timing" => "",
        _ => Isolate + Burns + Pressure + Procedures,
    };

    private static string Interval(Forecast forecast) => forecast is { CyclesLeftLower: { } lower, CyclesLeftUpper: { } upper } ? $" (8 in 10: {Whole(lower)} to {Whole(upper)})" : "";

    private static string Cycles(double? cycles) => cycles is { } number ? $"{Whole(number)} cycles" : "an unknown number of cycles";

    private static string FamilyOf(string feature) => Feature.FamilyOf(feature.Split('@')[0]);

    private static string Place(string washer, string feature) => feature.Split('@') is { Length: 2 } parts ? $"{washer}, station {parts[1]}" : washer;

    private static string Stations(IReadOnlyList<int> stations) => stations.Count == 1 ? $"station {stations[0]}" : $"stations {string.Join(", ", stations)}";

    private static string Unit(string ucum) => ucum.Length == 0 ? "" : " " + ucum;

    private static string Whole(double number) => number.ToString("0", CultureInfo.InvariantCulture);

    private static string Number(double number) => number.ToString("0.###", CultureInfo.InvariantCulture);

    private static string Sentence(string text) => text.Length == 0 ? "" : char.ToUpperInvariant(text[0]) + text[1..].TrimEnd('.') + ".";
}
