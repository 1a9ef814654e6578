using System.Globalization;
using WashBridge.Core.Time;

namespace WashBridge.Reporting.Documents;

/// <summary>How values are said to people, the same on screen, on paper and in the terminal.</summary>
internal static class CellWords
{
    public static string Of(Cell cell, TimeZoneInfo zone) => cell switch
    {
        TextCell text => text.Text,
        NumberCell number => (number.IsChange && number.Value > 0 ? "+" : "") + Quantity(Number(number.Value), number.Unit),
        BoundsCell { Upper: null } open => $"at least {Quantity(Lower(open.Lower), open.Unit)}",
        BoundsCell bounds when Lower(bounds.Lower) == Upper(bounds.Upper!.Value) => Quantity(Lower(bounds.Lower), bounds.Unit),
        BoundsCell bounds => $"{Lower(bounds.Lower)} to {Quantity(Upper(bounds.Upper!.Value), bounds.Unit)}",
        InstantCell instant => Instant(instant.At, zone),
        EdgeCell edge => Edge(edge.At, zone),
        VerdictCell verdict => Words.Of(verdict.Verdict),
        _ => throw new ArgumentOutOfRangeException(nameof(cell)),
    };

    /// <summary>The sources behind a value, such as <c>[T1 T2]</c>; empty where there are none.</summary>
    public static string Sources(Cell cell) => cell.Traces.Count == 0 ? "" : $"[{string.Join(' ', cell.Traces.Select(TraceTable.Name))}]";

    public static string Instant(Instant at, TimeZoneInfo zone) => Local(at, zone).ToString("yyyy-MM-dd HH:mm:ss zzz", CultureInfo.InvariantCulture);

    /// <summary>To the thousandth of a second, the earliest rounded down and the latest up.</summary>
    public static string Edge(TimeBounds at, TimeZoneInfo zone)
    {
        var earliest = Local(new Instant(at.Earliest.UnixMicroseconds - Modulo(at.Earliest)), zone);
        var latest = Local(new Instant(Modulo(at.Latest) == 0 ? at.Latest.UnixMicroseconds : at.Latest.UnixMicroseconds - Modulo(at.Latest) + 1000), zone);
        if (earliest == latest)
        {
            return earliest.ToString("yyyy-MM-dd HH:mm:ss.fff zzz", CultureInfo.InvariantCulture);
        }

        var begin = earliest.ToString("yyyy-MM-dd HH:mm:ss.fff", CultureInfo.InvariantCulture) + (earliest.Offset == latest.Offset ? "" : earliest.ToString(" zzz", CultureInfo.InvariantCulture));
        return $"{begin} to {latest.ToString(earliest.Date == latest.Date ? "HH:mm:ss.fff zzz" : "yyyy-MM-dd HH:mm:ss.fff zzz", CultureInfo.InvariantCulture)}";
    }

    /// <summary>Words of a zone for people.</summary>
    public static string Zone(TimeZoneInfo zone) => zone.Id;

    /// <summary>To the thousandth; what is smaller, to four digits.</summary>
    public static string Number(double value) => Write(value, Math.Round);

    private static string Lower(double value) => Write(value, Math.Floor);

    private static string Upper(double value) => Write(value, Math.Ceiling);

    private static string Write(double value, Func<double, double> round)
    {
        if (!double.IsFinite(value))
        {
            return value.ToString(CultureInfo.InvariantCulture);
        }

        var size = Math.Abs(value);
        var decimals = size == 0 ? 0 : size >= 1 ? 3 : Math.Min(12, 3 - (int)Math.Floor(Math.Log10(size)));
        var scale = Math.Pow(10, decimals);

        // What is a whole number of the last digit but for the floating point is not rounded further.
        var scaled = value * scale;
        var whole = Math.Round(scaled);
        return ((Math.Abs(scaled - whole) < 1e-9 * Math.Max(1, Math.Abs(whole)) ? whole : round(scaled)) / scale).ToString("0.############", CultureInfo.InvariantCulture);
    }

    private static string Quantity(string number, string unit) => unit.Length == 0 ? number : $"{number} {unit}";

    private static DateTimeOffset Local(Instant at, TimeZoneInfo zone) => TimeZoneInfo.ConvertTime(at.ToDateTimeOffset(), zone);

    private static long Modulo(Instant at) => ((at.UnixMicroseconds % 1000) + 1000) % 1000;
}
