using System.Globalization;
using System.Net;
using System.Text;

namespace WashBridge.Reporting;

/// <summary>
/// An index against cycles as SVG of our own: its course, its limit, and where the forecast sees it reach the limit. Told apart by form and words, not by colour alone;
/// the numbers stand beside it in the page.
/// </summary>
internal static class IndexPicture
{
    private const double Width = 640;
    private const double Height = 240;
    private const double Left = 64;
    private const double Right = 16;
    private const double Top = 24;
    private const double Bottom = 40;

    /// <summary>Empty where there is nothing to draw: less than two points and no limit.</summary>
    public static string Draw(ForecastLine line)
    {
        var forecast = line.Forecast;
        var points = line.History;
        if (points.Count == 0 || (points.Count < 2 && forecast.Limit is null))
        {
            return "";
        }

        var now = points[^1].Cycles;
        var reached = forecast.CyclesLeft is { } left ? now + left : (double?)null;
        var (from, to) = Range([points[0].Cycles, now, .. Ends(now, forecast.CyclesLeft, forecast.CyclesLeftUpper)]);
        var (low, high) = Range([.. points.Select(p => p.Value), .. forecast.Limit is { } l ? [l] : Array.Empty<double>()], margin: 0.1);
        string X(double cycles) => Text(Left + ((cycles - from) / (to - from) * (Width - Left - Right)));
        string Y(double value) => Text(Height - Bottom - ((value - low) / (high - low) * (Height - Top - Bottom)));

        var svg = new StringBuilder();
        var title = $"{forecast.Index} of {forecast.Component.Key} against cycles since its reference began: now {AnalysisWords.Number(points[^1].Value)}{AnalysisWords.Unit(forecast.Unit)}. {AnalysisWords.Left(forecast)}";
        svg.Append(CultureInfo.InvariantCulture, $"<svg viewBox=\"0 0 {Width} {Height}\" role=\"img\" aria-label=\"{Escape(title)}\"><title>{Escape(title)}</title>");
        svg.Append($"<path class=\"axis\" d=\"M{Text(Left)} {Text(Top)}V{Text(Height - Bottom)}H{Text(Width - Right)}\"/>");
        foreach (var (value, anchor) in new[] { (from, "start"), (now, "middle"), (to, "end") }.DistinctBy(t => t.Item1))
        {
            svg.Append($"<text x=\"{X(value)}\" y=\"{Text(Height - Bottom + 16)}\" text-anchor=\"{anchor}\">{AnalysisWords.Number(Math.Round(value))}</text>");
        }

        svg.Append($"<text x=\"{Text(Width - Right)}\" y=\"{Text(Height - 6)}\" text-anchor=\"end\">cycles</text>");
        foreach (var value in new[] { low, high })
        {
            svg.Append($"<text x=\"{Text(Left - 6)}\" y=\"{Y(value)}\" text-anchor=\"end\">{AnalysisWords.Number(value)}</text>");
        }

        svg.Append($"<text x=\"{Text(Left)}\" y=\"{Text(Top - 8)}\">{Escape(forecast.Index + AnalysisWords.Unit(forecast.Unit))}</text>");
        if (forecast.Limit is { } limit)
        {
            svg.Append($"<path class=\"limit\" d=\"M{Text(Left)} {Y(limit)}H{Text(Width - Right)}\"/><text x=\"{Text(Width - Right)}\" y=\"{Y(limit)}\" dy=\"-5\" text-anchor=\"end\">limit {AnalysisWords.Number(limit)}</text>");
            if (reached is { } median)
            {
                svg.Append($"<path class=\"ahead\" d=\"M{X(now)} {Y(points[^1].Value)}L{X(median)} {Y(limit)}\"/>");
            }

            if (forecast is { CyclesLeftLower: { } lower, CyclesLeftUpper: { } upper })
            {
                svg.Append($"<path class=\"span\" d=\"M{X(now + lower)} {Y(limit)}H{X(now + upper)}\"/>");
            }
        }

        svg.Append($"<polyline class=\"course\" points=\"{string.Join(' ', points.Select(p => $"{X(p.Cycles)},{Y(p.Value)}"))}\"/>");
        svg.Append($"<circle class=\"now\" cx=\"{X(now)}\" cy=\"{Y(points[^1].Value)}\" r=\"4\"/></svg>");
        return svg.ToString();
    }

    /// <summary>A far upper end would press the course into a corner: it may reach out three times as far as the middle.</summary>
    private static IEnumerable<double> Ends(double now, double? left, double? upper)
    {
        if (left is { } middle)
        {
            yield return now + middle;
            yield return now + Math.Min(upper ?? middle, 3 * middle);
        }
    }

    private static (double Low, double High) Range(IReadOnlyList<double> values, double margin = 0)
    {
        var (low, high) = (values.Min(), values.Max());
        var width = high > low ? high - low : Math.Max(1, Math.Abs(high));
        return high > low ? (low - (margin * width), high + (margin * width)) : (low - (width / 2), high + (width / 2));
    }

    private static string Text(double number) => number.ToString("0.#", CultureInfo.InvariantCulture);

    private static string Escape(string text) => WebUtility.HtmlEncode(text);
}
