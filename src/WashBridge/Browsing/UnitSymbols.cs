using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Browsing;

/// <summary>
/// Units by their common code (UNECE Recommendation 20; values from memory), which OPC UA keeps as the bytes of a number (OPC 10000-8, 5.6.3). The display name is for people, in
/// whatever language the controller speaks.
/// </summary>
internal static class UnitSymbols
{
    private const string Unece = "http://www.opcfoundation.org/UA/units/un/cefact";

    private static readonly Dictionary<string, string> ByCode = new()
    {
        ["CEL"] = "°C", ["FAH"] = "°F", ["KEL"] = "K",
        ["BAR"] = "bar", ["MBR"] = "mbar", ["KPA"] = "kPa", ["PS"] = "psi",
        ["L2"] = "l/min", ["E32"] = "l/h", ["G51"] = "l/s", ["MQH"] = "m³/h",
        ["H61"] = "mS/cm", ["AMP"] = "A", ["4K"] = "mA", ["P1"] = "%",
        ["SEC"] = "s", ["C26"] = "ms", ["MIN"] = "min", ["HUR"] = "h", ["LTR"] = "l",
    };

    /// <summary>The symbol of the code where it is known, else the display name; empty if there is neither.</summary>
    public static string Of(EUInformation? unit) =>
        unit is { NamespaceUri: Unece } && ByCode.TryGetValue(Code(unit.UnitId), out var symbol) ? symbol : unit?.DisplayName.Text ?? "";

    /// <summary>The characters, the first one in the highest byte that is not 0.</summary>
    private static string Code(int id) => new([.. new[] { id >> 24, id >> 16, id >> 8, id }.Select(b => (char)(b & 0xFF)).Where(c => c != 0)]);
}
