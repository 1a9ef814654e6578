using WashBridge.Core.Time;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>One figure of a report as a row for programs.</summary>
/// <param name="Part"><c>facts</c>, <c>basis</c>, or a table's id.</param>
/// <param name="Row">From 1 within the part.</param>
/// <param name="Name">What the row is about: its first cell.</param>
/// <param name="Figure">The column's heading, or the fact's label.</param>
/// <param name="Text">As people read it.</param>
/// <param name="Value">A number in <paramref name="Unit"/>.</param>
/// <param name="Lower">Lower bound in <paramref name="Unit"/>.</param>
/// <param name="Upper">Upper bound; null with a lower one: open.</param>
/// <param name="Earliest">An instant, or the earliest at which it can have happened.</param>
/// <param name="Latest">The same as <paramref name="Earliest"/> for an instant.</param>
/// <param name="Sources">Such as <c>T1 T2</c>.</param>
internal sealed record FigureRow(
    string Report, string Part, int Row, string Name, string Figure, string Kind, string Text, double? Value, double? Lower, double? Upper, string? Unit, Instant? Earliest, Instant? Latest, string Sources);

/// <summary>All figures of a report, the sources among them.</summary>
internal static class FigureRows
{
    public static IEnumerable<FigureRow> Of(Document document)
    {
        foreach (var (part, facts) in new[] { ("facts", document.Facts), ("basis", BasisFacts.Of(document)) })
        {
            foreach (var (fact, i) in facts.Select((f, i) => (f, i)))
            {
                yield return Row(document, part, i + 1, fact.Label, fact.Label, fact.Value);
            }
        }

        foreach (var table in document.WholeSections.SelectMany(s => s.Blocks).OfType<Table>())
        {
            foreach (var (row, i) in table.Rows.Select((r, i) => (r, i)))
            {
                var name = CellWords.Of(row[0], document.Basis.Zone);
                for (var column = 0; column < row.Count; column++)
                {
                    if (row[column] is not TextCell { Text.Length: 0 })
                    {
                        yield return Row(document, table.Id, i + 1, name, table.Columns[column], row[column]);
                    }
                }
            }
        }
    }

    private static FigureRow Row(Document document, string part, int row, string name, string figure, Cell cell)
    {
        var (number, bounds, instant, edge) = (cell as NumberCell, cell as BoundsCell, cell as InstantCell, cell as EdgeCell);
        var kind = cell.GetType().Name[..^"Cell".Length].ToLowerInvariant();
        return new FigureRow(
            document.Kind, part, row, name, figure, kind, CellWords.Of(cell, document.Basis.Zone),
            number?.Value, bounds?.Lower, bounds?.Upper, number?.Unit ?? bounds?.Unit,
            instant?.At ?? edge?.At.Earliest, instant?.At ?? edge?.At.Latest, string.Join(' ', cell.Traces.Select(TraceTable.Name)));
    }
}
