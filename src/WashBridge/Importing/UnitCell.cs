namespace WashBridge.Importing;

/// <summary>How a value in a list's unit comes to the unit of a signal: value x Factor + Offset.</summary>
internal sealed record UnitStep(double Factor, double Offset);

/// <summary>Brings the units that lists use to those of the catalogue. What is not here is left to a person.</summary>
internal static class UnitCell
{
    private const double StandardAtmosphere = 1.01325;

    private static readonly Dictionary<(string From, string To), UnitStep> Steps = new()
    {
        [("°c", "Cel")] = new(1, 0), [("degc", "Cel")] = new(1, 0), [("c", "Cel")] = new(1, 0), [("cel", "Cel")] = new(1, 0),
        [("°f", "Cel")] = new(5 / 9d, -160 / 9d), [("degf", "Cel")] = new(5 / 9d, -160 / 9d), [("k", "Cel")] = new(1, -273.15),
        [("ms/cm", "mS/cm")] = new(1, 0), [("us/cm", "mS/cm")] = new(0.001, 0), [("µs/cm", "mS/cm")] = new(0.001, 0),
        [("bar(a)", "bar(a)")] = new(1, 0), [("bara", "bar(a)")] = new(1, 0), [("mbar(a)", "bar(a)")] = new(0.001, 0),
        [("bar", "bar(a)")] = new(1, StandardAtmosphere), [("barg", "bar(a)")] = new(1, StandardAtmosphere), [("bar(g)", "bar(a)")] = new(1, StandardAtmosphere),
        [("kpa", "bar(a)")] = new(0.01, StandardAtmosphere), [("psi", "bar(a)")] = new(0.0689475729, StandardAtmosphere),
        [("l/min", "L/min")] = new(1, 0), [("l/h", "L/min")] = new(1 / 60d, 0), [("l/s", "L/min")] = new(60, 0), [("m3/h", "L/min")] = new(1000 / 60d, 0), [("m³/h", "L/min")] = new(1000 / 60d, 0),
        [("a", "A")] = new(1, 0), [("ma", "A")] = new(0.001, 0), [("%", "%")] = new(1, 0),
    };

    public static Guess<UnitStep> Read(string unit, string wanted)
    {
        if (unit.Length == 0)
        {
            return Guess<UnitStep>.Of(new UnitStep(1, 0), wanted.Length == 0 ? "" : $"unit: the list gives none; {wanted} assumed");
        }

        if (!Steps.TryGetValue((unit.ToLowerInvariant(), wanted), out var step))
        {
            return Guess<UnitStep>.Open($"unit: no way is known from \"{unit}\" to {wanted}: work out scale and offset");
        }

        var reason = step switch
        {
            { Factor: 1, Offset: 0 } => "",
            { Offset: StandardAtmosphere } => $"unit: {unit} taken as above the atmosphere, so {StandardAtmosphere} bar are added",
            _ => $"unit: {unit} brought to {wanted}",
        };
        return Guess<UnitStep>.Of(step, reason);
    }
}
