using WashBridge.Checking;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>A report as plain text, for the terminal. Pictures are left out; the tables have their numbers.</summary>
internal static class PlainWriter
{
    public static void Write(Document document, TextWriter output)
    {
        output.WriteLine(Visible.Text(document.Title));
        output.WriteLine();
        foreach (var fact in document.Facts.Concat(BasisFacts.Of(document)))
        {
            output.WriteLine($"{fact.Label}: {Words(fact.Value, document)}");
        }

        foreach (var section in document.WholeSections)
        {
            output.WriteLine();
            output.WriteLine(section.Title.ToUpperInvariant());
            foreach (var block in section.Blocks)
            {
                Write(block, document, output);
            }
        }
    }

    private static void Write(Block block, Document document, TextWriter output)
    {
        switch (block)
        {
            case Paragraph paragraph:
                output.WriteLine(Visible.Text(paragraph.Text));
                break;
            case SubHeading heading:
                output.WriteLine();
                output.WriteLine(Visible.Text(heading.Text));
                break;
            case Bullets { Items.Count: > 0 } bullets:
                output.WriteLine(bullets.Title.Length > 0 ? bullets.Title + ":" : "");
                foreach (var item in bullets.Items)
                {
                    output.WriteLine("- " + Visible.Text(item));
                }

                break;
            case Table { Rows.Count: 0 } table:
                output.WriteLine(table.Empty);
                break;
            case Table table:
                var text = new TextTable([.. table.Columns]);
                foreach (var row in table.Rows)
                {
                    text.Add([.. row.Select(c => Words(c, document))]);
                }

                text.Write(output, null);
                break;
            default:
                break;
        }
    }

    private static string Words(Cell cell, Document document) => $"{Visible.Text(CellWords.Of(cell, document.Basis.Zone))} {CellWords.Sources(cell)}".TrimEnd();
}
