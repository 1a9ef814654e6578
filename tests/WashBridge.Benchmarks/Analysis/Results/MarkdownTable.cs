using System.Globalization;
using System.Text;

namespace WashBridge.Benchmarks.Analysis.Results;

/// <summary>A table of a page; numbers are written the same everywhere.</summary>
internal static class MarkdownTable
{
    public static string Of(string heading, IEnumerable<IReadOnlyList<string>> rows)
    {
        var text = new StringBuilder();
        var columns = heading.Split('|').Length;
        text.Append("| ").Append(string.Join(" | ", heading.Split('|').Select(h => h.Trim()))).AppendLine(" |");
        text.AppendLine(string.Concat(Enumerable.Repeat("| --- ", columns)) + "|");
        foreach (var row in rows)
        {
            text.Append("| ").Append(string.Join(" | ", row)).AppendLine(" |");
        }

        return text.ToString();
    }

    public static string Number(double value, int digits = 2) => double.IsNaN(value) ? "-" : value.ToString("F" + digits, CultureInfo.InvariantCulture);

    public static string Percent(double share) => double.IsNaN(share) ? "-" : (100 * share).ToString("F0", CultureInfo.InvariantCulture) + " %";

    public static string Count(double value) => value.ToString("N0", CultureInfo.InvariantCulture);
}
