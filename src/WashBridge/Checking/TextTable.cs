using Spectre.Console;

namespace WashBridge.Checking;

/// <summary>A table for people: drawn on a terminal, aligned plain text where the output goes to a file or another program.</summary>
internal sealed class TextTable(params string[] headings)
{
    private readonly List<string[]> rows = [];

    /// <summary>Headings of columns whose cells stay on one line, so that they can be copied; others give way.</summary>
    public IReadOnlyList<string> Unbroken { get; init; } = [];

    public void Add(params string[] cells) => rows.Add(cells);

    public void Write(TextWriter output, IAnsiConsole? terminal)
    {
        if (terminal is not null)
        {
            Draw(terminal);
            return;
        }

        var widths = headings.Select((h, i) => rows.Select(r => r[i].Length).Append(h.Length).Max()).ToArray();
        foreach (var row in rows.Prepend(headings))
        {
            output.WriteLine(string.Join("  ", row.Select((cell, i) => cell.PadRight(widths[i]))).TrimEnd());
        }
    }

    private void Draw(IAnsiConsole terminal)
    {
        var table = new Table { Border = TableBorder.Rounded };
        foreach (var heading in headings)
        {
            table.AddColumn(new TableColumn(new Text(heading)) { NoWrap = Unbroken.Contains(heading) });
        }

        foreach (var row in rows)
        {
            table.AddRow(row.Select(cell => new Text(cell)));
        }

        terminal.Write(table);
    }
}
