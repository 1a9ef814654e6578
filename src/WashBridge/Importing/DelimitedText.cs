using System.Text;

namespace WashBridge.Importing;

/// <summary>One record of a delimited file.</summary>
/// <param name="Line">The line on which it begins, from 1.</param>
/// <param name="Text">As it stands in the file, line ends within it as blanks.</param>
/// <param name="Cells">Its cells, trimmed.</param>
internal sealed record Record(int Line, string Text, IReadOnlyList<string> Cells);

/// <summary>Something in a list that could not be taken as it is.</summary>
internal sealed record ListProblem(int Line, string Message);

internal enum QuoteState
{
    Closed = 0,
    Open = 1,

    /// <summary>Text follows where the cell should end.</summary>
    Misplaced = 2,
}

/// <summary>Reads lists as spreadsheets and engineering tools export them: comma, semicolon, tab or bar between cells; quotes around cells that need them.</summary>
internal static class DelimitedText
{
    /// <summary>A cell with more line breaks than this is a quote that was never closed.</summary>
    private const int MaxLines = 20;

    private static readonly char[] Delimiters = [';', ',', '\t', '|'];

    /// <summary>The delimiter that cuts the first lines into the most cells of an equal number.</summary>
    public static char Detect(string text)
    {
        var lines = text.Split('\n').Where(l => l.Trim().Length > 0).Take(20).ToList();
        return Delimiters.MaxBy(d => lines.GroupBy(l => Outside(l, d)).Where(g => g.Key > 0).Select(g => g.Key * g.Count()).DefaultIfEmpty(0).Max());
    }

    /// <summary>Every record that is not blank. A quote without its end is reported, and its line taken as it stands, so that no row is lost.</summary>
    public static (IReadOnlyList<Record> Records, IReadOnlyList<ListProblem> Problems) Read(string text, char delimiter)
    {
        var records = new List<Record>();
        var problems = new List<ListProblem>();
        var lines = text.ReplaceLineEndings("\n").Split('\n');
        for (var i = 0; i < lines.Length; i++)
        {
            var first = i;
            var record = lines[i];
            while (Cut(record, delimiter).Quote == QuoteState.Open && i + 1 < lines.Length && i - first < MaxLines)
            {
                record += "\n" + lines[++i];
            }

            if (Cut(record, delimiter).Quote != QuoteState.Closed)
            {
                problems.Add(new ListProblem(first + 1, "a quote is not closed at the end of its cell; the line is taken as it stands"));
                (record, i) = (lines[first].Replace('"', '\''), first);
            }

            if (record.Trim().Length > 0)
            {
                records.Add(new Record(first + 1, record.Replace('\n', ' ').Trim(), Cut(record, delimiter).Cells));
            }
        }

        return (records, problems);
    }

    private static int Outside(string line, char delimiter)
    {
        var (count, isQuoted) = (0, false);
        foreach (var c in line)
        {
            isQuoted ^= c == '"';
            count += c == delimiter && !isQuoted ? 1 : 0;
        }

        return count;
    }

    /// <summary>A quote counts only at the start of a cell; within a quoted cell two stand for one.</summary>
    private static (IReadOnlyList<string> Cells, QuoteState Quote) Cut(string record, char delimiter)
    {
        var cells = new List<string>();
        var cell = new StringBuilder();
        var isQuoted = false;
        for (var i = 0; i < record.Length; i++)
        {
            var c = record[i];
            if (isQuoted && c == '"' && i + 1 < record.Length && record[i + 1] == '"')
            {
                cell.Append('"');
                i++;
            }
            else if (c == '"' && (isQuoted || string.IsNullOrWhiteSpace(cell.ToString())))
            {
                isQuoted = !isQuoted;
                if (!isQuoted && record.AsSpan(i + 1).TrimStart(' ') is { Length: > 0 } rest && rest[0] != delimiter)
                {
                    return (cells, QuoteState.Misplaced);
                }
            }
            else if (c == delimiter && !isQuoted)
            {
                cells.Add(cell.ToString().Trim());
                cell.Clear();
            }
            else
            {
                cell.Append(c is '\n' or '\r' or '\t' ? ' ' : c);
            }
        }

        cells.Add(cell.ToString().Trim());
        return (cells, isQuoted ? QuoteState.Open : QuoteState.Closed);
    }
}
