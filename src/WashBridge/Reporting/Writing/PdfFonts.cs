using System.Buffers.Binary;
using PdfSharp.Drawing;
using PdfSharp.Fonts;
using PdfSharp.Pdf;

namespace WashBridge.Reporting.Writing;

/// <summary>
/// The letters that a PDF is set in. They lie in the program, because a server has none; what a PDF uses of them is embedded in it (licence beside them).
/// </summary>
internal sealed class PdfFonts : IFontResolver
{
    private const string Family = "WashBridge";
    private const string Regular = "DejaVuSansCondensed.ttf";
    private const string Bold = "DejaVuSansCondensed-Bold.ttf";

    private static readonly Lazy<HashSet<int>> Known = new(() => [.. Characters(Load(Regular)).Intersect(Characters(Load(Bold)))]);

    private static readonly XPdfFontOptions Options = new(PdfFontEncoding.Unicode);

    private PdfFonts()
    {
    }

    /// <summary>Whether both faces have a letter for it.</summary>
    public static bool Has(int character) => Known.Value.Contains(character);

    /// <summary>Once in a process, before the first font is made.</summary>
    public static void Register() => GlobalFontSettings.FontResolver ??= new PdfFonts();

    public static XFont Of(double size, bool isBold = false) => new(Family, size, isBold ? XFontStyleEx.Bold : XFontStyleEx.Regular, Options);

    public FontResolverInfo? ResolveTypeface(string familyName, bool bold, bool italic) => familyName == Family ? new FontResolverInfo(bold ? Bold : Regular) : null;

    public byte[]? GetFont(string faceName) => Load(faceName);

    private static byte[] Load(string face)
    {
        using var stream = typeof(PdfFonts).Assembly.GetManifestResourceStream(face) ?? throw new InvalidOperationException($"{face} is not in the program");
        var bytes = new byte[stream.Length];
        stream.ReadExactly(bytes);
        return bytes;
    }

    /// <summary>Characters of the basic plane that a face has a letter for: table cmap, platform 3 encoding 1, format 4 (ISO/IEC 14496-22, 5.2.1).</summary>
    private static IEnumerable<int> Characters(byte[] font)
    {
        var subtable = Subtable(font, Table(font, "cmap"u8));
        var segments = U16(font, subtable + 6) / 2;
        var (ends, starts, deltas, offsets) = (subtable + 14, subtable + 16 + (2 * segments), subtable + 16 + (4 * segments), subtable + 16 + (6 * segments));
        for (var segment = 0; segment < segments; segment++)
        {
            var (start, end, delta, offset) = (U16(font, starts + (2 * segment)), U16(font, ends + (2 * segment)), U16(font, deltas + (2 * segment)), U16(font, offsets + (2 * segment)));
            for (var character = start; character <= end && character < 0xffff; character++)
            {
                var glyph = offset == 0 ? (character + delta) & 0xffff : U16(font, offsets + (2 * segment) + offset + (2 * (character - start)));
                if (glyph != 0)
                {
                    yield return character;
                }
            }
        }
    }

    private static int Table(byte[] font, ReadOnlySpan<byte> tag)
    {
        for (var i = 0; i < U16(font, 4); i++)
        {
            var entry = 12 + (16 * i);
            if (font.AsSpan(entry, 4).SequenceEqual(tag))
            {
                return (int)U32(font, entry + 8);
            }
        }

        throw new InvalidOperationException("the font has no table of characters");
    }

    private static int Subtable(byte[] font, int cmap)
    {
        for (var i = 0; i < U16(font, cmap + 2); i++)
        {
            var entry = cmap + 4 + (8 * i);
            var subtable = cmap + (int)U32(font, entry + 4);
            if (U16(font, entry) == 3 && U16(font, entry + 2) == 1 && U16(font, subtable) == 4)
            {
                return subtable;
            }
        }

        throw new InvalidOperationException("the font has no table of Unicode characters");
    }

    private static int U16(byte[] font, int at) => BinaryPrimitives.ReadUInt16BigEndian(font.AsSpan(at));

    private static uint U32(byte[] font, int at) => BinaryPrimitives.ReadUInt32BigEndian(font.AsSpan(at));
}
