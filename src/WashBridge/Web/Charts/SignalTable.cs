using WashBridge.Core.Time;

namespace WashBridge.Web.Charts;

/// <summary>A row of numbers: what a signal was between two times. Null: nothing is known.</summary>
internal sealed record SignalRow(Instant From, Instant Until, double? Low, double? High, double? Last);

/// <summary>The numbers of a picture in few rows: the points themselves where they are few, else equal parts.</summary>
internal static class SignalTable
{
    public const int MostRows = 60;

    public static IReadOnlyList<SignalRow> Of(SignalPicture picture, Instant from, Instant until)
    {
        var points = picture.Points;
        if (points.Count <= MostRows)
        {
            return [.. points.Select((p, i) => new SignalRow(p.At, i + 1 < points.Count ? points[i + 1].At : until, p.Low, p.High, p.Value)).Where(r => r.Until > r.From)];
        }

        var rows = new List<SignalRow>(MostRows);
        var at = 0;
        for (var i = 0; i < MostRows; i++)
        {
            var (start, end) = (from + ((until - from) / MostRows * i), i == MostRows - 1 ? until : from + ((until - from) / MostRows * (i + 1)));

            // What held when the row began counts too.
            while (at + 1 < points.Count && points[at + 1].At <= start)
            {
                at++;
            }

            var inside = points.Skip(at).TakeWhile(p => p.At < end).Where(p => p.Value is not null && (p.At >= start || p == points[at])).ToList();
            rows.Add(new SignalRow(start, end, inside.Min(p => p.Low), inside.Max(p => p.High), inside.LastOrDefault()?.Value));
        }

        return rows;
    }
}
