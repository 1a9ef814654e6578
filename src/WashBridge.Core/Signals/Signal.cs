namespace WashBridge.Core.Signals;

/// <summary>What a signal's values are.</summary>
public enum SignalType
{
    /// <summary>0 or 1.</summary>
    Flag = 0,

    /// <summary>A whole number that is a code or a count; compared for equality, never averaged.</summary>
    Integer = 1,

    /// <summary>A measured quantity in the signal's unit.</summary>
    Quantity = 2,

    /// <summary>Text, such as a keg's id.</summary>
    Text = 3,
}

/// <summary>A normalised value's identity: whose it is, what it is called in <see cref="SignalCatalogue"/>, and its unit.</summary>
/// <param name="Washer">The washer's id.</param>
/// <param name="Station">1 to 8, or 0 for the washer as a whole.</param>
/// <param name="Name">A name of the catalogue, such as <c>drain.dry</c>.</param>
/// <param name="Unit">UCUM-like unit text such as <c>Cel</c>; empty for flags, counts and text.</param>
/// <param name="Type">What the values are.</param>
public sealed record Signal(string Washer, int Station, string Name, string Unit, SignalType Type)
{
    public override string ToString() => Station == 0 ? $"{Washer}/{Name}" : $"{Washer}/{Station}/{Name}";
}
