using System.Globalization;
using System.Text.RegularExpressions;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Importing;

/// <summary>An address of a list.</summary>
/// <param name="Table">The table.</param>
/// <param name="Protocol">Zero-based.</param>
/// <param name="Bit">A bit of the register, or null.</param>
internal sealed record ListAddress(ModbusTable Table, int Protocol, int? Bit);

/// <summary>
/// Reads the ways in which lists write addresses: a plain number counted from the base that the person gives; five or six digits with the
/// table in front (40109, 400109), which always count from 1; a table by name beside it; a bit behind a dot (109.3).
/// </summary>
internal static partial class AddressCell
{
    private static readonly Dictionary<string, ModbusTable> TableNames = new()
    {
        ["coil"] = ModbusTable.Coils, ["coils"] = ModbusTable.Coils, ["0x"] = ModbusTable.Coils,
        ["discreteinput"] = ModbusTable.DiscreteInputs, ["discreteinputs"] = ModbusTable.DiscreteInputs, ["di"] = ModbusTable.DiscreteInputs, ["1x"] = ModbusTable.DiscreteInputs,
        ["inputregister"] = ModbusTable.InputRegisters, ["inputregisters"] = ModbusTable.InputRegisters, ["ir"] = ModbusTable.InputRegisters, ["3x"] = ModbusTable.InputRegisters,
        ["holdingregister"] = ModbusTable.HoldingRegisters, ["holdingregisters"] = ModbusTable.HoldingRegisters, ["hr"] = ModbusTable.HoldingRegisters, ["4x"] = ModbusTable.HoldingRegisters,
    };

    private static readonly Dictionary<char, ModbusTable> TableDigits = new()
    {
        ['0'] = ModbusTable.Coils, ['1'] = ModbusTable.DiscreteInputs, ['3'] = ModbusTable.InputRegisters, ['4'] = ModbusTable.HoldingRegisters,
    };

    /// <param name="table">The table's cell, or empty.</param>
    /// <param name="address">The address's cell.</param>
    /// <param name="addressBase">What plain numbers count from.</param>
    /// <param name="standard">The table of plain numbers without one; null: left open.</param>
    public static Guess<ListAddress> Read(string table, string address, int addressBase, ModbusTable? standard)
    {
        if (Form().Match(address) is not { Success: true } match)
        {
            return Guess<ListAddress>.Open(address.Length == 0 ? "address: the list gives none" : $"address: \"{address}\" is not understood");
        }

        int? bit = match.Groups["bit"].Success ? int.Parse(match.Groups["bit"].ValueSpan) : null;
        var digits = match.Groups["number"].Value;
        var named = match.Groups["table"].Length > 0 ? match.Groups["table"].Value : table;
        var known = Table(named);
        if (known is null && named.Length > 0)
        {
            return Guess<ListAddress>.Open($"address: the table \"{named}\" is not understood");
        }

        if (digits.Length is 5 or 6 && TableDigits.TryGetValue(digits[0], out var prefixed) && (known is null || known == prefixed) && int.Parse(digits.AsSpan(1)) >= 1)
        {
            return Checked(new ListAddress(prefixed, int.Parse(digits.AsSpan(1)) - 1, bit), $"address: {digits} taken as the table in front of number {int.Parse(digits.AsSpan(1))}, counted from 1");
        }

        if ((known ?? standard) is not { } found)
        {
            return Guess<ListAddress>.Open($"address: the list does not tell the table of {address}");
        }

        var note = known is null ? $"address: table {found} as told on the command line" : "";
        return Checked(new ListAddress(found, int.Parse(digits, CultureInfo.InvariantCulture) - addressBase, bit), note);
    }

    private static Guess<ListAddress> Checked(ListAddress address, string reason) => address switch
    {
        { Protocol: < 0 or > 65_535 } => Guess<ListAddress>.Open("address: outside the table"),
        { Bit: > 15 } => Guess<ListAddress>.Open("address: a register has bits 0 to 15"),
        { Bit: not null, Table: ModbusTable.Coils or ModbusTable.DiscreteInputs } => Guess<ListAddress>.Open("address: a bit of a table that holds single bits"),
        _ => Guess<ListAddress>.Of(address, reason),
    };

    private static ModbusTable? Table(string text) =>
        TableNames.TryGetValue(new string([.. text.Where(char.IsLetterOrDigit).Select(char.ToLowerInvariant)]), out var table) ? table : null;

    [GeneratedRegex(@"^(?<table>[0134]x|HR|IR|DI)?\s*(?<number>[0-9]{1,6})(?:[.:](?<bit>[0-9]{1,2}))?\z", RegexOptions.IgnoreCase)]
    private static partial Regex Form();
}
