using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Units of measure by their UNECE Recommendation 20 codes (OPC 10000-8, 5.6.3).</summary>
public static class Units
{
    private const string Namespace = "http://www.opcfoundation.org/UA/units/un/cefact";

    public static EUInformation Celsius { get; } = Unece("CEL", "°C", "degree Celsius");

    public static EUInformation Bar { get; } = Unece("BAR", "bar", "bar");

    public static EUInformation Percent { get; } = Unece("P1", "%", "percent");

    public static EUInformation Ampere { get; } = Unece("AMP", "A", "ampere");

    public static EUInformation Second { get; } = Unece("SEC", "s", "second");

    public static EUInformation Millisecond { get; } = Unece("C26", "ms", "millisecond");

    public static EUInformation Litre { get; } = Unece("LTR", "l", "litre");

    public static EUInformation LitrePerMinute { get; } = Unece("L2", "l/min", "litre per minute");

    public static EUInformation MillisiemensPerCentimetre { get; } = Unece("H61", "mS/cm", "millisiemens per centimetre");

    public static EUInformation PartsPerMillion { get; } = Unece("59", "ppm", "part per million");

    /// <summary>By the unit's UCUM code, such as <c>Cel</c>; null for a unit that is not listed here.</summary>
    public static EUInformation? FromUcum(string code) => code switch
    {
        "Cel" => Celsius,
        "bar" => Bar,
        "%" => Percent,
        "A" => Ampere,
        "s" => Second,
        "ms" => Millisecond,
        "L" => Litre,
        "L/min" => LitrePerMinute,
        "mS/cm" => MillisiemensPerCentimetre,
        "[ppm]" => PartsPerMillion,
        _ => null,
    };

    /// <summary>Any other unit.</summary>
    /// <param name="code">The common code, 1 to 3 letters and digits, such as <c>KGM</c>.</param>
    /// <param name="symbol">As displayed.</param>
    /// <exception cref="ArgumentException">Not such a code.</exception>
    public static EUInformation Unece(string code, string symbol, string description) =>
        new(Namespace, UnitId(code), new LocalizedText(symbol), new LocalizedText(description));

    /// <summary>The code's characters as the bytes of a number, the first one highest.</summary>
    internal static int UnitId(string code)
    {
        ArgumentNullException.ThrowIfNull(code);
        if (code.Length is 0 or > 3 || !code.All(char.IsAsciiLetterOrDigit))
        {
            throw new ArgumentException($"\"{code}\" is no common code of a unit: 1 to 3 letters and digits", nameof(code));
        }

        return code.Aggregate(0, static (id, character) => (id << 8) | character);
    }
}
