using System.Globalization;
using System.Net;
using System.Text;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>One self-contained page that reads on a phone and prints well: no script, nothing loaded from elsewhere, no style attributes.</summary>
internal sealed class HtmlWriter(Document document, TextWriter output)
{
    private TimeZoneInfo Zone => document.Basis.Zone;

    public static void Write(Document document, TextWriter output) => new HtmlWriter(document, output).Write();

    private void Write()
    {
        output.Write($"""
            <!doctype html>
            <html lang="en-GB">
            <head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>{Text(document.Title)}</title><style>{DocumentStyle.InPage}</style></head>
            <body>
            <main>
            <h1>{Isolated(document.Title)}</h1>

            """);
        Facts("facts", document.Facts);
        Facts("basis", BasisFacts.Of(document));
        foreach (var section in document.WholeSections)
        {
            output.Write($"<section>\n<h2>{Text(section.Title)}</h2>\n");
            foreach (var block in section.Blocks)
            {
                Write(block);
            }

            output.Write("</section>\n");
        }

        output.Write("</main>\n</body>\n</html>\n");
    }

    private void Write(Block block)
    {
        switch (block)
        {
            case Paragraph paragraph:
                var kind = paragraph.Kind switch { ParagraphKind.Note => " class=\"note\"", ParagraphKind.Caution => " class=\"caution\"", _ => "" };
                output.Write($"<p{kind}>{(paragraph.Kind == ParagraphKind.Caution ? "<strong>Caution.</strong> " : "")}{Isolated(paragraph.Text)}</p>\n");
                break;
            case SubHeading heading:
                output.Write($"<h3>{Isolated(heading.Text)}</h3>\n");
                break;
            case Bullets { Items.Count: > 0 } bullets:
                output.Write($"{(bullets.Title.Length > 0 ? $"<p>{Text(bullets.Title)}:</p>" : "")}<ul>{string.Concat(bullets.Items.Select(i => $"<li>{Isolated(i)}</li>"))}</ul>\n");
                break;
            case Table { Rows.Count: 0 } table:
                output.Write($"<p>{Text(table.Empty)}</p>\n");
                break;
            case Table table:
                Write(table);
                break;
            case Picture picture:
                output.Write($"<figure>{Svg(picture)}</figure>\n");
                break;
            default:
                break;
        }
    }

    private void Facts(string name, IReadOnlyList<Fact> facts) =>
        output.Write($"<dl class=\"{name}\">\n{string.Concat(facts.Select(f => $"<dt>{Text(f.Label)}</dt><dd>{Value(f.Value)}</dd>\n"))}</dl>\n");

    private void Write(Table table)
    {
        output.Write($"<table>\n<thead><tr>{string.Concat(table.Columns.Select(c => $"<th scope=\"col\">{Text(c)}</th>"))}</tr></thead>\n<tbody>\n");
        foreach (var row in table.Rows)
        {
            output.Write("<tr>");
            for (var i = 0; i < row.Count; i++)
            {
                output.Write($"<td data-label=\"{Text(table.Columns[i])}\"{(row[i] switch { NumberCell => " class=\"number\"", TextCell => "", _ => " class=\"figure\"" })}>{Value(row[i])}</td>");
            }

            output.Write("</tr>\n");
        }

        output.Write("</tbody>\n</table>\n");
    }

    private string Value(Cell cell)
    {
        var words = CellWords.Of(cell, Zone);
        var value = cell switch
        {
            VerdictCell verdict => $"<span class=\"verdict {Class(verdict.Verdict)}\">{Text(words)}</span>",
            TextCell => Isolated(words),
            _ => Text(words),
        };
        return cell.Traces.Count == 0 ? value : $"{value} <span class=\"sources\">{CellWords.Sources(cell)}</span>";
    }

    private static string Class(Verdict verdict) => Words.Of(verdict).Replace(' ', '-');

    /// <summary>Text that may hold any writing stays where it is: it cannot turn what stands around it.</summary>
    private static string Isolated(string text) => text.Length == 0 ? "" : text.All(c => c < 0x0590) ? Text(text) : $"<bdi>{Text(text)}</bdi>";

    private static string Text(string text) => WebUtility.HtmlEncode(Visible.Text(text));

    private static string Svg(Picture picture)
    {
        var drawing = picture.Drawing;
        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture, $"<svg viewBox=\"0 0 {Number(drawing.Width)} {Number(drawing.Height)}\" role=\"img\" aria-label=\"{Text(picture.Title)}\"><title>{Text(picture.Title)}</title>");
        foreach (var shape in drawing.Shapes)
        {
            svg.Append(shape switch
            {
                Line line => $"<polyline class=\"{Name(line.Pen)}\" points=\"{string.Join(' ', line.Points.Select(p => $"{Number(p.X)},{Number(p.Y)}"))}\"/>",
                Box { Pen: Pen.Unseen } box => $"<path class=\"unseen\" d=\"M{Number(box.X)} {Number(box.Y)}h{Number(box.Width)}v{Number(box.Height)}h{Number(-box.Width)}zl{Number(box.Width)} {Number(box.Height)}m{Number(-box.Width)} 0l{Number(box.Width)} {Number(-box.Height)}\"/>",
                Box box => $"<rect class=\"{Name(box.Pen)}\" x=\"{Number(box.X)}\" y=\"{Number(box.Y)}\" width=\"{Number(box.Width)}\" height=\"{Number(box.Height)}\"/>",
                Dot dot => $"<circle class=\"dot\" cx=\"{Number(dot.X)}\" cy=\"{Number(dot.Y)}\" r=\"{Number(dot.Radius)}\"/>",
                Label label => $"<text{(label.IsInverse ? " class=\"inverse\"" : "")} x=\"{Number(label.X)}\" y=\"{Number(label.Y)}\" text-anchor=\"{Name(label.Anchor)}\">{Text(label.Text)}</text>",
                _ => throw new ArgumentOutOfRangeException(nameof(picture)),
            });
        }

        return svg.Append("</svg>").ToString();
    }

    private static string Name(Enum name) => name.ToString().ToLowerInvariant();

    private static string Number(double number) => number.ToString("0.##", CultureInfo.InvariantCulture);
}
