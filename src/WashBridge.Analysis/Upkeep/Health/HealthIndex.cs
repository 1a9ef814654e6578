using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>A kind of index that stands for a part's health.</summary>
/// <param name="Name">Of the index, without what it is of: <c>drain-index</c>.</param>
/// <param name="Kind">Whose health.</param>
/// <param name="Unit">UCUM; empty for a ratio to the reference.</param>
/// <param name="Title">For people.</param>
/// <param name="DefaultLimit">Where neither the washer nor the user sets one; null: it follows from what was learned.</param>
/// <param name="Rises">With wear; false: it falls.</param>
/// <param name="NaturalPower">The power in which it runs straight where what wears does; null: none is likelier than others.</param>
public sealed record HealthIndex(string Name, ComponentKind Kind, string Unit, string Title, double? DefaultLimit, bool Rises = true, double? NaturalPower = null)
{
    public const string CommonPractice = "a common practice";

    public static HealthIndex Drain { get; } = new("drain-index", ComponentKind.DrainValve, "", "drain time for the liquid, as a ratio to the reference", 2);

    public static HealthIndex Late { get; } = new("drain-late", ComponentKind.DrainSensor, "s", "seconds by which the longest drain of a cycle is longer than in the reference", null);

    public static HealthIndex Bounce { get; } = new("drain-bounce", ComponentKind.DrainSensor, "", "changes of the sensor in a drain", null);

    public static HealthIndex Head { get; } = new("spray-head", ComponentKind.SprayPump, "", "pressure of the pump above that of the air, as a ratio to the reference", 0.85, false);

    public static HealthIndex Dosing { get; } = new("dosing-rate", ComponentKind.DosingTube, "", "what a second of dosing does, as a ratio to the reference", 0.6, false);

    public static HealthIndex Loss { get; } = new("dosing-loss", ComponentKind.DosingCheckValve, "s", "seconds of dosing more than in the reference for every 1,000 s that the line stood", 20);

    /// <summary>The same heat from less power takes longer: with the power its inverse falls.</summary>
    public static HealthIndex Heating { get; } = new("heater-duty", ComponentKind.Heater, "", "share of the time in which the heater is on", 0.97, NaturalPower: -1);

    public static HealthIndex Gas { get; } = new("co2-rest", ComponentKind.Co2Supply, "bar(a)", "CO2 supply pressure at rest", null, false);

    public static HealthIndex Strength { get; } = new("bath-strength", ComponentKind.Bath, "", "conductivity of the bath, as a ratio to the reference", 0.8, false);

    public static HealthIndex CarryOver { get; } = new("rinse-carry-over", ComponentKind.Bath, "", "what is left of the bath at the end of the rinse, as a ratio to the reference", 3);

    public static IReadOnlyList<HealthIndex> All { get; } = [Drain, Late, Bounce, Head, Dosing, Loss, Heating, Gas, Strength, CarryOver];

    /// <summary>Its key for a part, such as <c>drain-index@2</c> or <c>dosing-rate/caustic</c>.</summary>
    public string KeyOf(Component component)
    {
        ArgumentNullException.ThrowIfNull(component);
        return Name + (component.Of.Length > 0 ? "/" + component.Of : "") + (component.Station > 0 ? $"@{component.Station}" : "");
    }
}
