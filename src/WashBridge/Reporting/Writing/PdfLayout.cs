using PdfSharp;
using PdfSharp.Drawing;
using PdfSharp.Pdf;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>Sets a report on A4 pages, top to bottom. Lengths in points.</summary>
internal sealed class PdfLayout
{
    private const double Left = 42;
    private const double Right = 553;
    private const double Top = 42;
    private const double Bottom = 785;
    private const double LabelWidth = 110;
    private const double CellGap = 6;
    private const double PictureScale = 1.15;

    private static readonly XBrush Ink = XBrushes.Black;
    private static readonly XBrush Grey = new XSolidBrush(XColor.FromArgb(80, 80, 80));
    private static readonly XPen Hair = new(XColor.FromArgb(170, 170, 170), 0.5);

    private readonly PdfDocument _pdf;
    private readonly Document _document;
    private readonly CancellationToken _cancellation;
    private readonly XFont _title = PdfFonts.Of(16, isBold: true);
    private readonly XFont _heading = PdfFonts.Of(12, isBold: true);
    private readonly XFont _strong = PdfFonts.Of(9, isBold: true);
    private readonly XFont _body = PdfFonts.Of(9);
    private readonly XFont _cell = PdfFonts.Of(7.5);
    private readonly XFont _strongCell = PdfFonts.Of(7.5, isBold: true);
    private readonly XFont _small = PdfFonts.Of(7);

    private XGraphics _page;
    private double _y = Top;
    private bool _hasCodes;

    public PdfLayout(PdfDocument pdf, Document document, CancellationToken cancellation)
    {
        (_pdf, _document, _cancellation) = (pdf, document, cancellation);
        _page = NewPage();
    }

    public void Draw()
    {
        Write(_document.Title, _title, Left, Right - Left, 2);
        _y += 4;
        Facts(_document.Facts);
        Rule();
        Facts(BasisFacts.Of(_document));
        foreach (var section in _document.WholeSections)
        {
            Heading(section.Title, section.Blocks is [Picture first, ..] ? first.Drawing.Height * PictureScale : 40);
            foreach (var block in section.Blocks)
            {
                _cancellation.ThrowIfCancellationRequested();
                Draw(block);
            }
        }

        if (_hasCodes)
        {
            _y += 4;
            Write(PdfText.Note, _small, Left, Right - Left, 1);
        }

        _page.Dispose();
        Footers();
    }

    private XGraphics NewPage()
    {
        var page = _pdf.AddPage();
        page.Size = PageSize.A4;
        _y = Top;
        return XGraphics.FromPdfPage(page);
    }

    private void TurnPage()
    {
        _page.Dispose();
        _page = NewPage();
    }

    private void Need(double height)
    {
        if (_y + height > Bottom)
        {
            TurnPage();
        }
    }

    private static double LineHeight(XFont font) => font.Size * 1.3;

    private void Write(string text, XFont font, double x, double width, double space, XBrush? brush = null)
    {
        foreach (var line in PdfText.Lines(_page, Drawable(text), font, width))
        {
            Need(LineHeight(font));
            _page.DrawString(line, font, brush ?? Ink, x, _y + font.Size);
            _y += LineHeight(font);
        }

        _y += space;
    }

    /// <param name="below">What must stand on the same page: a heading is never alone at its foot.</param>
    private void Heading(string text, double below)
    {
        Need(30 + below);
        _y += 10;
        _pdf.Outlines.Add(Drawable(text), _pdf.Pages[^1], true);
        Write(text, _heading, Left, Right - Left, 0);
        _page.DrawLine(new XPen(XColors.Black, 0.8), Left, _y, Right, _y);
        _y += 4;
    }

    private string Drawable(string text)
    {
        var drawable = PdfText.Drawable(text);
        _hasCodes |= drawable.Length != text.Length;
        return drawable;
    }

    private void Rule()
    {
        _y += 3;
        _page.DrawLine(Hair, Left, _y, Right, _y);
        _y += 3;
    }

    private void Facts(IReadOnlyList<Fact> facts)
    {
        foreach (var fact in facts)
        {
            Need(LineHeight(_body));
            _page.DrawString(Drawable(fact.Label), _strong, Ink, Left, _y + _strong.Size);
            Write(Value(fact.Value), fact.Value is VerdictCell ? _strong : _body, Left + LabelWidth, Right - Left - LabelWidth, 1);
        }
    }

    private void Draw(Block block)
    {
        switch (block)
        {
            case Paragraph { Kind: ParagraphKind.Caution } caution:
                Caution(caution.Text);
                break;
            case Paragraph paragraph:
                Write(paragraph.Text, paragraph.Kind == ParagraphKind.Note ? _small : _body, Left, Right - Left, 4);
                break;
            case SubHeading heading:
                Need(40);
                _y += 4;
                Write(heading.Text, _strong, Left, Right - Left, 2);
                break;
            case Bullets { Items.Count: > 0 } bullets:
                if (bullets.Title.Length > 0)
                {
                    Write(bullets.Title + ":", _body, Left, Right - Left, 1);
                }

                foreach (var item in bullets.Items)
                {
                    Need(LineHeight(_body));
                    _page.DrawString("\u2022", _body, Ink, Left + 4, _y + _body.Size);
                    Write(item, _body, Left + 14, Right - Left - 14, 1);
                }

                _y += 3;
                break;
            case Table { Rows.Count: 0 } table:
                Write(table.Empty, _body, Left, Right - Left, 4);
                break;
            case Table table:
                Draw(table);
                break;
            case Picture picture:
                Draw(picture);
                break;
            default:
                break;
        }
    }

    private void Caution(string text)
    {
        var lines = PdfText.Lines(_page, Drawable("Caution. " + text), _body, Right - Left - 12);
        Need((lines.Count * LineHeight(_body)) + 6);
        _page.DrawRectangle(XBrushes.Black, Left, _y, 3, (lines.Count * LineHeight(_body)) + 4);
        _y += 2;
        foreach (var line in lines)
        {
            _page.DrawString(line, _body, Ink, Left + 10, _y + _body.Size);
            _y += LineHeight(_body);
        }

        _y += 6;
    }

    private void Draw(Table table)
    {
        var texts = table.Rows.Select(r => r.Select(c => Drawable(Value(c))).ToArray()).ToList();
        var widths = PdfColumns.Widths(_page, [.. table.Columns.Select(Drawable)], texts, _cell, _strongCell, Right - Left, CellGap);
        TableHead(table, widths);
        for (var i = 0; i < texts.Count; i++)
        {
            _cancellation.ThrowIfCancellationRequested();
            var cells = texts[i].Select((t, c) => PdfText.Lines(_page, t, Font(table.Rows[i][c]), widths[c] - CellGap)).ToArray();
            Row(table, widths, table.Rows[i], cells);
        }

        _y += 6;
    }

    private void TableHead(Table table, double[] widths)
    {
        var heads = table.Columns.Select((h, c) => PdfText.Lines(_page, Drawable(h), _strongCell, widths[c] - CellGap)).ToArray();
        var height = heads.Max(h => h.Count) * LineHeight(_strongCell);

        // With a row below it at least.
        Need(height + (3 * LineHeight(_cell)));
        for (var line = 0; line < heads.Max(h => h.Count); line++)
        {
            var x = Left;
            for (var c = 0; c < heads.Length; x += widths[c++])
            {
                if (line < heads[c].Count)
                {
                    _page.DrawString(heads[c][line], _strongCell, Ink, x, _y + _strongCell.Size);
                }
            }

            _y += LineHeight(_strongCell);
        }

        _y += 1.5;
        _page.DrawLine(new XPen(XColors.Black, 0.6), Left, _y, Right, _y);
        _y += 1.5;
    }

    /// <summary>A row stays on one page unless it is longer than a page.</summary>
    private void Row(Table table, double[] widths, IReadOnlyList<Cell> row, List<string>[] cells)
    {
        var lines = cells.Max(c => c.Count);
        var height = LineHeight(_cell);
        if (_y + (lines * height) + 3 > Bottom)
        {
            TurnPage();
            TableHead(table, widths);
        }

        for (var line = 0; line < lines; line++)
        {
            if (_y + height > Bottom)
            {
                TurnPage();
                TableHead(table, widths);
            }

            var x = Left;
            for (var c = 0; c < cells.Length; x += widths[c++])
            {
                if (line < cells[c].Count)
                {
                    _page.DrawString(cells[c][line], Font(row[c]), Ink, x, _y + _cell.Size);
                }
            }

            _y += height;
        }

        _y += 1;
        _page.DrawLine(Hair, Left, _y, Right, _y);
        _y += 2;
    }

    private XFont Font(Cell cell) => cell is VerdictCell { Verdict: not Verdict.Met } ? _strongCell : _cell;

    private void Draw(Picture picture)
    {
        var drawing = picture.Drawing;
        Need((drawing.Height * PictureScale) + 8);
        PdfPicture.Draw(_page, drawing, Left, _y + 4, PictureScale);
        _y += (drawing.Height * PictureScale) + 8;
    }

    private string Value(Cell cell) => $"{CellWords.Of(cell, _document.Basis.Zone)} {CellWords.Sources(cell)}".TrimEnd();

    private void Footers()
    {
        var title = Drawable(_document.Title);
        for (var i = 0; i < _pdf.PageCount; i++)
        {
            using var page = XGraphics.FromPdfPage(_pdf.Pages[i]);
            var number = $"Page {i + 1} of {_pdf.PageCount}";
            var left = PdfText.Lines(page, $"As of log entry {_document.Basis.LastSequence}. {title}", _small, Right - Left - 90);
            page.DrawLine(Hair, Left, Bottom + 10, Right, Bottom + 10);
            page.DrawString(left.Count > 1 ? left[0] + " ..." : left[0], _small, Grey, Left, Bottom + 20);
            page.DrawString(number, _small, Grey, Right - PdfText.Width(page, number, _small), Bottom + 20);
        }
    }
}
