using System.Globalization;
using System.Text;

namespace WashBridge.Reporting.Writing;

/// <summary>Makes characters visible that cannot be seen or that turn or join what stands beside them: an id must not look like another one.</summary>
internal static class Visible
{
    /// <summary>Control and format characters, lone surrogates and private ones as <c>&lt;U+202E&gt;</c>; line ends and tabs as spaces. All else stays.</summary>
    public static string Text(string text)
    {
        if (text.All(c => c is >= ' ' and < (char)0x7f))
        {
            return text;
        }

        var result = new StringBuilder(text.Length);
        for (var i = 0; i < text.Length; i++)
        {
            if (!Rune.TryGetRuneAt(text, i, out var rune))
            {
                result.Append(Code(text[i]));
                continue;
            }

            i += rune.Utf16SequenceLength - 1;
            if (rune.Value is '\n' or '\r' or '\t')
            {
                result.Append(' ');
            }
            else if (Rune.GetUnicodeCategory(rune) is UnicodeCategory.Control or UnicodeCategory.Format or UnicodeCategory.PrivateUse or UnicodeCategory.OtherNotAssigned or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator)
            {
                result.Append(Code(rune.Value));
            }
            else
            {
                result.Append(rune.ToString());
            }
        }

        return result.ToString();
    }

    public static string Code(int value) => $"<U+{value:X4}>";
}
