using PdfSharp.Drawing;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>Draws a picture on a page.</summary>
internal static class PdfPicture
{
    private static readonly XColor Bar = XColor.FromArgb(47, 93, 124);
    private static readonly XColor Warn = XColor.FromArgb(143, 29, 20);

    public static void Draw(XGraphics page, Drawing drawing, double left, double top, double scale)
    {
        var (font, inverse) = (PdfFonts.Of(8.5 * scale), PdfFonts.Of(7.5 * scale, isBold: true));
        double X(double x) => left + (x * scale);
        double Y(double y) => top + (y * scale);
        foreach (var shape in drawing.Shapes)
        {
            switch (shape)
            {
                case Line { Points.Count: > 1 } line:
                    page.DrawLines(PenOf(line.Pen), [.. line.Points.Select(p => new XPoint(X(p.X), Y(p.Y)))]);
                    break;
                case Box { Pen: Pen.Unseen } box:
                    page.DrawRectangle(PenOf(box.Pen), X(box.X), Y(box.Y), box.Width * scale, box.Height * scale);
                    page.DrawLine(PenOf(box.Pen), X(box.X), Y(box.Y), X(box.X + box.Width), Y(box.Y + box.Height));
                    page.DrawLine(PenOf(box.Pen), X(box.X), Y(box.Y + box.Height), X(box.X + box.Width), Y(box.Y));
                    break;
                case Box { Pen: Pen.Certain } box:
                    page.DrawRectangle(new XSolidBrush(Bar), X(box.X), Y(box.Y), box.Width * scale, box.Height * scale);
                    break;
                case Box box:
                    page.DrawRectangle(PenOf(box.Pen), XBrushes.White, X(box.X), Y(box.Y), box.Width * scale, box.Height * scale);
                    break;
                case Dot dot:
                    page.DrawEllipse(XBrushes.Black, X(dot.X - dot.Radius), Y(dot.Y - dot.Radius), 2 * dot.Radius * scale, 2 * dot.Radius * scale);
                    break;
                case Label label:
                    var text = PdfText.Drawable(label.Text);
                    var width = PdfText.Width(page, text, label.IsInverse ? inverse : font);
                    var x = X(label.X) - (label.Anchor switch { Anchor.Middle => width / 2, Anchor.End => width, _ => 0 });
                    page.DrawString(text, label.IsInverse ? inverse : font, label.IsInverse ? XBrushes.White : XBrushes.Black, x, Y(label.Y));
                    break;
                default:
                    break;
            }
        }
    }

    private static XPen PenOf(Pen pen) => pen switch
    {
        Pen.Rule => new XPen(XColor.FromArgb(170, 170, 170), 0.5),
        Pen.Limit => new XPen(Warn, 1) { DashStyle = XDashStyle.Dash },
        Pen.Ahead => new XPen(XColors.Black, 1) { DashStyle = XDashStyle.Dot },
        Pen.Span => new XPen(XColor.FromArgb(200, 160, 90), 4),
        Pen.Possible => new XPen(Bar, 0.6),
        Pen.Unseen => new XPen(Warn, 0.7),
        _ => new XPen(XColors.Black, 1),
    };
}
