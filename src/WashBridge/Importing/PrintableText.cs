namespace WashBridge.Importing;

internal static class PrintableText
{
    /// <summary>Text of somebody else on one line.</summary>
    public static string Printable(this string text) => new([.. text.Select(c => char.IsControl(c) ? ' ' : c)]);
}
