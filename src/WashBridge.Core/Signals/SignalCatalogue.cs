namespace WashBridge.Core.Signals;

/// <summary>Whether a signal may belong to the washer as a whole, to each station, or to either.</summary>
public enum SignalScope
{
    Washer = 0,
    Station = 1,
    Either = 2,
}

/// <summary>A name that a tag map may use.</summary>
/// <param name="Name">The name, or a prefix ending in <c>.*</c> that stands for names of the site's own.</param>
/// <param name="Type">What the values are.</param>
/// <param name="Unit">The unit in which values are kept, whatever the controller sends.</param>
/// <param name="Scope">Whose signal it may be.</param>
/// <param name="Meaning">One sentence for the person who maps tags.</param>
public sealed record SignalDefinition(string Name, SignalType Type, string Unit, SignalScope Scope, string Meaning);

/// <summary>Every signal name WashBridge understands. Names, units and meanings are its vocabulary, the same for every washer.</summary>
public static class SignalCatalogue
{
    public static IReadOnlyList<SignalDefinition> All { get; } =
    [
        new("sequence.step", SignalType.Integer, "", SignalScope.Washer, "The controller's step code."),
        new("sequence.running", SignalType.Flag, "", SignalScope.Washer, "The programme runs."),
        new("sequence.paused", SignalType.Flag, "", SignalScope.Washer, "The programme is held by a person or an interlock."),
        new("sequence.fault", SignalType.Flag, "", SignalScope.Washer, "The controller stopped the programme with a fault."),
        new("sequence.programme", SignalType.Integer, "", SignalScope.Washer, "The number of the programme selected at the controller."),
        new("sequence.cycle-count", SignalType.Integer, "", SignalScope.Washer, "Counts cycles; shows one that was missed."),
        new("keg.present", SignalType.Flag, "", SignalScope.Station, "A keg is on the station."),
        new("keg.id", SignalType.Text, "", SignalScope.Station, "The keg's id as the controller knows it."),
        new("valve.water", SignalType.Flag, "", SignalScope.Either, "Water valve open."),
        new("valve.caustic", SignalType.Flag, "", SignalScope.Either, "Caustic supply valve open."),
        new("valve.acid", SignalType.Flag, "", SignalScope.Either, "Acid supply valve open."),
        new("valve.sanitiser", SignalType.Flag, "", SignalScope.Either, "Sanitiser supply valve open."),
        new("valve.steam", SignalType.Flag, "", SignalScope.Either, "Steam valve open."),
        new("valve.air", SignalType.Flag, "", SignalScope.Either, "Air valve open."),
        new("valve.co2", SignalType.Flag, "", SignalScope.Either, "CO2 valve open."),
        new("valve.drain", SignalType.Flag, "", SignalScope.Either, "Drain valve open."),
        new("valve.vent", SignalType.Flag, "", SignalScope.Either, "Vent valve open."),
        new("valve.wall-spray", SignalType.Flag, "", SignalScope.Either, "Flow goes to the keg's walls."),
        new("valve.spear-rinse", SignalType.Flag, "", SignalScope.Either, "Flow goes through the spear."),
        new("pump.spray", SignalType.Flag, "", SignalScope.Washer, "Spray pump runs."),
        new("dosing.caustic", SignalType.Flag, "", SignalScope.Washer, "Caustic dosing pump runs."),
        new("dosing.acid", SignalType.Flag, "", SignalScope.Washer, "Acid dosing pump runs."),
        new("dosing.sanitiser", SignalType.Flag, "", SignalScope.Washer, "Sanitiser dosing pump runs."),
        new("heater.caustic", SignalType.Flag, "", SignalScope.Washer, "Caustic bath heater on."),
        new("drain.dry", SignalType.Flag, "", SignalScope.Either, "The drain sensor reads dry. Of the washer: one sensor shared by all stations."),
        new("temperature.caustic", SignalType.Quantity, "Cel", SignalScope.Washer, "Temperature of the caustic bath."),
        new("temperature.acid", SignalType.Quantity, "Cel", SignalScope.Washer, "Temperature of the acid bath."),
        new("temperature.sanitiser", SignalType.Quantity, "Cel", SignalScope.Washer, "Temperature of the sanitiser bath."),
        new("temperature.water", SignalType.Quantity, "Cel", SignalScope.Washer, "Temperature of the rinse water."),
        new("temperature.return", SignalType.Quantity, "Cel", SignalScope.Either, "Temperature of what leaves the keg."),
        new("conductivity.caustic", SignalType.Quantity, "mS/cm", SignalScope.Washer, "Conductivity of the caustic bath at 25 °C."),
        new("conductivity.acid", SignalType.Quantity, "mS/cm", SignalScope.Washer, "Conductivity of the acid bath at 25 °C."),
        new("conductivity.sanitiser", SignalType.Quantity, "mS/cm", SignalScope.Washer, "Conductivity of the sanitiser bath at 25 °C."),
        new("conductivity.return", SignalType.Quantity, "mS/cm", SignalScope.Either, "Conductivity of what leaves the keg at 25 °C."),
        new("pressure.keg", SignalType.Quantity, "bar(a)", SignalScope.Either, "Absolute pressure in the keg or its gas line."),
        new("pressure.water", SignalType.Quantity, "bar(a)", SignalScope.Washer, "Absolute pressure of the water supply."),
        new("pressure.spray", SignalType.Quantity, "bar(a)", SignalScope.Washer, "Absolute pressure behind the spray pump."),
        new("pressure.co2", SignalType.Quantity, "bar(a)", SignalScope.Washer, "Absolute pressure of the CO2 supply."),
        new("pressure.air", SignalType.Quantity, "bar(a)", SignalScope.Washer, "Absolute pressure of the control air."),
        new("flow.supply", SignalType.Quantity, "L/min", SignalScope.Either, "Flow of liquid towards the kegs."),
        new("current.spray-pump", SignalType.Quantity, "A", SignalScope.Washer, "Motor current of the spray pump."),
        new("level.caustic", SignalType.Quantity, "%", SignalScope.Washer, "Level of the caustic bath."),
        new("level.acid", SignalType.Quantity, "%", SignalScope.Washer, "Level of the acid bath."),
        new("level.sanitiser", SignalType.Quantity, "%", SignalScope.Washer, "Level of the sanitiser bath."),
        new("counter.*", SignalType.Integer, "", SignalScope.Either, "A count of the controller, such as counter.drain-valve."),
        new("setpoint.*", SignalType.Quantity, "", SignalScope.Washer, "What the controller is set to, such as setpoint.sanitise.hold; the unit is given in the map."),
        new("other.*", SignalType.Quantity, "", SignalScope.Either, "A signal of the site's own; kept and forwarded, not judged unless a recipe names it."),
    ];

    /// <summary>The definition for <paramref name="name"/>, or null if no name of the catalogue matches.</summary>
    public static SignalDefinition? Find(string name) => All.FirstOrDefault(d =>
        d.Name == name || (d.Name.EndsWith(".*", StringComparison.Ordinal) && name.Length > d.Name.Length - 1 && name.StartsWith(d.Name.AsSpan(0, d.Name.Length - 1), StringComparison.Ordinal)));
}
