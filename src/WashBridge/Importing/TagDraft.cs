using System.Globalization;
using WashBridge.Configuration.Binding;
using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Importing;

/// <summary>A line of a tag map, with what was guessed and what is left open.</summary>
/// <param name="Title">Where it comes from, for people.</param>
/// <param name="Line">The tag in YAML; a question mark stands where something is open.</param>
/// <param name="Guesses">What was taken for granted.</param>
/// <param name="Open">What a person must say before the tag can be used.</param>
internal sealed record TagDraft(string Title, string Line, IReadOnlyList<string> Guesses, IReadOnlyList<string> Open)
{
    public static TagDraft Of(ListRow row, int addressBase, ModbusTable? standard)
    {
        var address = AddressCell.Read(row[ListColumn.Table], row[ListColumn.Address], addressBase, standard);
        var type = TypeCell.Read(row[ListColumn.Type], address.Value);
        var signal = SignalGuess.Read(row[ListColumn.Name], row[ListColumn.Description]);
        var scale = Scale(row[ListColumn.Scale]);
        var unit = signal.Value?.Definition is { Type: SignalType.Quantity } quantity ? UnitCell.Read(row[ListColumn.Unit], quantity.Unit) : Guess<UnitStep>.Of(new UnitStep(1, 0));
        (bool IsKnown, string Reason)[] guesses = [(signal.IsKnown, signal.Reason), (address.IsKnown, address.Reason), (type.IsKnown, type.Reason), (scale.IsKnown, scale.Reason), (unit.IsKnown, unit.Reason)];
        return new TagDraft(
            $"line {row.Record.Line}: {row.Record.Text}",
            Write(address, type, signal, (scale.IsKnown ? scale.Value : 1) * (unit.Value?.Factor ?? 1), unit.Value?.Offset ?? 0, addressBase),
            [.. guesses.Where(g => g.IsKnown && g.Reason.Length > 0).Select(g => g.Reason)],
            [.. guesses.Where(g => !g.IsKnown).Select(g => g.Reason)]);
    }

    private static string Write(Guess<ListAddress> address, Guess<ListType> type, Guess<ListSignal> signal, double scale, double offset, int addressBase)
    {
        var isQuantity = signal.Value?.Definition.Type != SignalType.Flag && signal.Value?.Definition.Type != SignalType.Text;
        var fields = new List<string> { $"signal: {signal.Value?.Definition.Name ?? "?"}" };
        Add(signal.Value?.Station is { } station ? $"station: {station}" : null);
        Add($"group: {(signal.Value?.Definition.Type == SignalType.Quantity ? 1 : 0)}");
        Add($"table: {(address.Value is { } at ? Names.NameOf(at.Table) : "?")}");
        Add($"address: {(address.Value is { } found ? $"{found.Protocol + addressBase}" : "?")}");
        Add(address.Value is { Table: ModbusTable.Coils or ModbusTable.DiscreteInputs } ? null : $"type: {(type.Value is { } known ? Names.NameOf(known.Type) : "?")}");
        Add(address.Value?.Bit is { } bit ? $"bit: {bit}" : null);
        Add(type.Value?.Length is { } length ? $"length: {length}" : null);
        Add(isQuantity && scale != 1 ? string.Create(CultureInfo.InvariantCulture, $"scale: {scale:R}") : null);
        Add(isQuantity && offset != 0 ? string.Create(CultureInfo.InvariantCulture, $"offset: {offset:R}") : null);
        return $"- {{{string.Join(", ", fields)}}}";

        void Add(string? field)
        {
            if (field is not null)
            {
                fields.Add(field);
            }
        }
    }

    /// <summary>A comma is taken for a decimal point: the list comes from anywhere.</summary>
    private static Guess<double> Scale(string text)
    {
        if (text.Length == 0)
        {
            return Guess<double>.Of(1);
        }

        return double.TryParse(text.Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out var scale) && double.IsFinite(scale) && scale != 0
            ? Guess<double>.Of(scale)
            : Guess<double>.Open($"scale: \"{text}\" is not a number other than 0");
    }
}
