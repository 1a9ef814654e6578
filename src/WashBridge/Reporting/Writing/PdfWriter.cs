using System.Security.Cryptography;
using System.Text;
using PdfSharp.Pdf;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>
/// A report on A4, with the letters in it, an outline, and page numbers. The same report gives the same bytes: dates are those of what it rests on, and names that the library draws
/// at random are replaced.
/// </summary>
internal static class PdfWriter
{
    /// <summary>The library keeps its fonts in common: one document at a time.</summary>
    private static readonly Lock Turn = new();

    public static byte[] Write(Document document, CancellationToken cancellation)
    {
        lock (Turn)
        {
            PdfFonts.Register();
            using var pdf = new PdfDocument();

            // The library ends what it compresses before its checksum, and strict readers complain of it (6.2.4).
            pdf.Options.NoCompression = true;
            pdf.Options.CompressContentStreams = false;
            pdf.Language = "en-GB";
            pdf.ViewerPreferences.DisplayDocTitle = true;
            pdf.Info.Title = PdfText.Drawable(document.Title);
            pdf.Info.Creator = document.Basis.Program;
            pdf.Info.Subject = $"As of entry {document.Basis.LastSequence} of the historian's log";
            var date = (document.Basis.LastAt?.ToDateTimeOffset() ?? DateTimeOffset.UnixEpoch).UtcDateTime;
            (pdf.Info.CreationDate, pdf.Info.ModificationDate) = (date, date);
            new PdfLayout(pdf, document, cancellation).Draw();

            using var stream = new MemoryStream();
            pdf.Save(stream, closeStream: false);
            return Settled(stream.ToArray());
        }
    }

    /// <summary>
    /// Tags of embedded fonts (ISO 32000-1, 9.6.4: six letters of choice) and the identifiers are drawn at random: they are replaced by ones that follow from the document itself, of the same length, so that no
    /// offset moves.
    /// </summary>
    private static byte[] Settled(byte[] pdf)
    {
        var text = Encoding.Latin1.GetString(pdf);
        var tags = new List<string>();
        foreach (var name in (string[])["/FontName/", "/BaseFont/"])
        {
            for (var at = text.IndexOf(name, StringComparison.Ordinal); at >= 0; at = text.IndexOf(name, at + 1, StringComparison.Ordinal))
            {
                var tag = text.Substring(at + name.Length, 7);
                if (tag[6] == '+' && tag[..6].All(char.IsAsciiLetterUpper))
                {
                    var number = tags.IndexOf(tag) is >= 0 and var known ? known : tags.Count;
                    if (number == tags.Count)
                    {
                        tags.Add(tag);
                    }

                    Put(pdf, at + name.Length, $"WASHB{(char)('A' + number)}+");
                }
            }
        }

        var identifiers = Identifiers(text).ToList();
        foreach (var (at, length) in identifiers)
        {
            Put(pdf, at, new string('0', length));
        }

        var digest = Convert.ToHexStringLower(SHA256.HashData(pdf));
        foreach (var (at, length) in identifiers)
        {
            Put(pdf, at, length == 36 ? $"{digest[..8]}-{digest[8..12]}-8{digest[13..16]}-8{digest[17..20]}-{digest[20..32]}" : digest[..length].ToUpperInvariant());
        }

        return pdf;
    }

    /// <summary>In the metadata as UUIDs, in the trailer as two strings of 32 hexadecimal digits.</summary>
    private static IEnumerable<(int At, int Length)> Identifiers(string text)
    {
        for (var at = text.IndexOf("uuid:", StringComparison.Ordinal); at >= 0; at = text.IndexOf("uuid:", at + 1, StringComparison.Ordinal))
        {
            if (Guid.TryParse(text.AsSpan(at + 5, Math.Min(36, text.Length - at - 5)), out _))
            {
                yield return (at + 5, 36);
            }
        }

        var trailer = text.LastIndexOf("/ID[", StringComparison.Ordinal);
        for (var at = trailer < 0 ? -1 : text.IndexOf('<', trailer); at >= 0 && at < text.IndexOf(']', trailer); at = text.IndexOf('<', at + 1))
        {
            yield return (at + 1, 32);
        }
    }

    private static void Put(byte[] pdf, int at, string text) => Encoding.Latin1.GetBytes(text).CopyTo(pdf, at);
}
