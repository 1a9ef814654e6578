using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>A report as one JSON document: typed figures, unrounded, with their sources. Pictures are left out; the tables have their numbers.</summary>
internal static class DocumentJson
{
    public static void Write(Document document, TextWriter output) => ReportJson.Write(
        new
        {
            Report = document.Kind,
            document.Title,
            Basis = new { document.Basis.Site, Zone = document.Basis.Zone.Id, document.Basis.Program, document.Basis.LastSequence, document.Basis.LastAt, document.Basis.Records },
            Facts = document.Facts.Select(f => new { f.Label, f.Value }),
            Sections = document.Sections.Select(s => new { s.Title, Blocks = s.Blocks.Select(b => Block(b)).OfType<object>() }),
            Sources = document.Traces,
            document.Claims,
            document.Cautions,
        },
        output);

    private static object? Block(Block block) => block switch
    {
        Paragraph paragraph => new { paragraph.Text },
        SubHeading heading => new { Heading = heading.Text },
        Bullets bullets => new { bullets.Title, bullets.Items },
        Table table => new { Table = table.Id, table.Columns, table.Rows },
        _ => null,
    };
}
