using System.Globalization;
using System.Text;
using PdfSharp.Drawing;

namespace WashBridge.Reporting.Writing;

/// <summary>Text for paper: what the letters at hand cannot draw rightly is written as its code, and lines are broken so that nothing runs out of its column.</summary>
internal static class PdfText
{
    public const string Note = "Characters that this document has no letters for, that run from right to left, or that join with others are written as their Unicode number, such as <U+05D0>.";

    /// <summary>Blocks of characters that are drawn from left to right, one after the other, without joining: Latin, Greek, Cyrillic, Armenian, Georgian, and signs.</summary>
    private static readonly (int From, int To)[] Simple = [(0x20, 0x2ff), (0x370, 0x58f), (0x10a0, 0x10ff), (0x1e00, 0x1fff), (0x2010, 0x2027), (0x2030, 0x205e), (0x2070, 0x2bff), (0x2c60, 0x2c7f), (0xfb00, 0xfb06), (0xfffd, 0xfffd)];

    public static string Drawable(string text)
    {
        var result = new StringBuilder(text.Length);
        for (var i = 0; i < text.Length; i++)
        {
            if (!Rune.TryGetRuneAt(text, i, out var rune))
            {
                result.Append(Visible.Code(text[i]));
                continue;
            }

            i += rune.Utf16SequenceLength - 1;
            if (rune.Value is '\n' or '\r' or '\t')
            {
                result.Append(' ');
                continue;
            }

            result.Append(IsSimple(rune) ? rune.ToString() : Visible.Code(rune.Value));
        }

        return result.ToString();
    }

    /// <summary>Breaks at spaces; a word wider than the column, between its characters.</summary>
    public static List<string> Lines(XGraphics measure, string text, XFont font, double width)
    {
        var lines = new List<string>();
        var line = "";
        foreach (var word in text.Split(' '))
        {
            var joined = line.Length == 0 ? word : $"{line} {word}";
            if (Width(measure, joined, font) <= width)
            {
                line = joined;
                continue;
            }

            if (line.Length > 0)
            {
                lines.Add(line);
            }

            line = word;
            while (line.Length > 1 && Width(measure, line, font) > width)
            {
                var fits = Fits(measure, line, font, width);
                lines.Add(line[..fits]);
                line = line[fits..];
            }
        }

        lines.Add(line);
        return lines;
    }

    public static double Width(XGraphics measure, string text, XFont font) => text.Length == 0 ? 0 : measure.MeasureString(text, font).Width;

    /// <summary>How many characters fit, one at least.</summary>
    private static int Fits(XGraphics measure, string text, XFont font, double width)
    {
        var (fits, fitsNot) = (1, text.Length);
        while (fitsNot - fits > 1)
        {
            var middle = (fits + fitsNot) / 2;
            (fits, fitsNot) = Width(measure, text[..middle], font) <= width ? (middle, fitsNot) : (fits, middle);
        }

        return fits;
    }

    private static bool IsSimple(Rune rune) =>
        rune.Value <= 0xffff && Simple.Any(s => rune.Value >= s.From && rune.Value <= s.To) && PdfFonts.Has(rune.Value)
        && Rune.GetUnicodeCategory(rune) is not (UnicodeCategory.Control or UnicodeCategory.Format or UnicodeCategory.NonSpacingMark or UnicodeCategory.EnclosingMark or UnicodeCategory.SpacingCombiningMark);
}
