using PdfSharp.Drawing;

namespace WashBridge.Reporting.Writing;

/// <summary>How wide the columns of a table become.</summary>
internal static class PdfColumns
{
    /// <summary>No column claims more for a word that it cannot break: longer words are broken anyway.</summary>
    private const double WidestWord = 112;

    /// <summary>Rows looked at: a long table is alike all the way.</summary>
    private const int Looked = 200;

    /// <summary>
    /// Each column gets what its longest word needs, and what is left goes to those whose text would be broken, by how much they lack. All add up to the width given.
    /// </summary>
    public static double[] Widths(XGraphics measure, string[] heads, IReadOnlyList<string[]> rows, XFont font, XFont headFont, double width, double gap)
    {
        var (least, most) = (new double[heads.Length], new double[heads.Length]);
        for (var c = 0; c < heads.Length; c++)
        {
            least[c] = Math.Min(WidestWord, Longest(measure, heads[c], headFont)) + gap;
            most[c] = Math.Max(least[c], PdfText.Width(measure, heads[c], headFont) + gap);
            foreach (var row in rows.Take(Looked))
            {
                least[c] = Math.Max(least[c], Math.Min(WidestWord, Longest(measure, row[c], font)) + gap);
                most[c] = Math.Max(most[c], PdfText.Width(measure, row[c], font) + gap);
            }
        }

        var (sumLeast, sumMost) = (least.Sum(), most.Sum());
        if (sumMost <= width)
        {
            return [.. most.Select(m => m * width / sumMost)];
        }

        if (sumLeast >= width)
        {
            return Cut(least, width);
        }

        // A long text must not starve the others: lack counts by its root.
        var lack = least.Zip(most, (l, m) => Math.Sqrt(m - l)).ToArray();
        var share = (width - sumLeast) / lack.Sum();
        var widths = least.Zip(lack, (l, k) => l + (k * share)).ToArray();

        // What a column does not need goes to the rest.
        var spare = widths.Zip(most, (w, m) => Math.Max(0, w - m)).Sum();
        var open = Enumerable.Range(0, heads.Length).Where(c => widths[c] < most[c]).ToList();
        for (var c = 0; c < heads.Length; c++)
        {
            widths[c] = Math.Min(widths[c], most[c]) + (open.Contains(c) ? spare / open.Count : 0);
        }

        return widths;
    }

    /// <summary>The widest give way first: short words stay whole.</summary>
    private static double[] Cut(double[] widths, double width)
    {
        var (low, high) = (0.0, widths.Max());
        for (var i = 0; i < 40; i++)
        {
            var middle = (low + high) / 2;
            (low, high) = widths.Sum(w => Math.Min(w, middle)) <= width ? (middle, high) : (low, middle);
        }

        return [.. widths.Select(w => Math.Min(w, low))];
    }

    private static double Longest(XGraphics measure, string text, XFont font) => text.Split(' ').Max(w => PdfText.Width(measure, w, font));
}
