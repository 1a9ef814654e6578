using WashBridge.Core.Time;

namespace WashBridge.Reporting;

internal enum ReportKind
{
    Certificate = 0,
    Lot = 1,
    Shift = 2,
    Month = 3,
    Deviation = 4,
    Outlook = 5,
}

internal enum ReportFormat
{
    Html = 0,
    Pdf = 1,
    Csv = 2,
    Parquet = 3,
    Json = 4,

    /// <summary>Plain text, for the terminal.</summary>
    Table = 5,
}

/// <summary>Which report somebody wants. What a kind does not need is left out, and refused where it would be ignored.</summary>
internal sealed record ReportWish(ReportKind Kind)
{
    /// <summary>Certificate, deviation: a keg's id.</summary>
    public string? Keg { get; init; }

    /// <summary>Certificate, deviation: which of the keg's washings, by the cycle's id; null: the last.</summary>
    public string? Cycle { get; init; }

    /// <summary>Lot: these kegs, each by its last washing in the period; empty: all.</summary>
    public IReadOnlyList<string> Kegs { get; init; } = [];

    /// <summary>Null: all washers.</summary>
    public string? Washer { get; init; }

    /// <summary>Null: from the first entry of the log.</summary>
    public Instant? From { get; init; }

    /// <summary>Null: to the last entry of the log.</summary>
    public Instant? Until { get; init; }

    /// <summary>Shift: the local date on which it begins.</summary>
    public DateOnly? Day { get; init; }

    /// <summary>Shift: the local time at which it begins; null: the only one of that day.</summary>
    public TimeOnly? Begins { get; init; }

    /// <summary>Month: its first local date.</summary>
    public DateOnly? Month { get; init; }

    /// <summary>Deviation: a setting instead of a keg, such as <c>sanitise.hold</c>.</summary>
    public string? Setpoint { get; init; }

    /// <summary>Null: the site's, else UTC.</summary>
    public TimeZoneInfo? Zone { get; init; }
}

/// <summary>A wish that cannot be fulfilled: the message says what was found and what is allowed.</summary>
internal sealed class ReportWishException(string message) : Exception(message);
