using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Web.Charts;

/// <summary>
/// What <c>wwwroot/charts.js</c> draws, as JSON with names in camel case. Series of one unit share a panel; panels lie one below the other on one axis.
/// The axis is time (milliseconds since 1970-01-01T00:00:00Z, shown in the site's zone) unless <see cref="Axis"/> names another quantity.
/// </summary>
public sealed record ChartData
{
    /// <summary>Start of the axis.</summary>
    public required double From { get; init; }

    /// <summary>End of the axis.</summary>
    public required double Until { get; init; }

    /// <summary>What lies along the axis where it is not time, with its unit, such as <c>cycles since the part was replaced</c>.</summary>
    public string? Axis { get; init; }

    public required IReadOnlyList<ChartSeries> Series { get; init; }

    /// <summary>Stretches behind the lines, such as phases and gaps.</summary>
    public IReadOnlyList<ChartSpan> Spans { get; init; } = [];

    public IReadOnlyList<ChartLimit> Limits { get; init; } = [];

    /// <summary>The same address with <c>from</c> and <c>until</c> (ISO 8601) gives a part of it in more detail: a closer look asks for it.</summary>
    public bool HasMore { get; init; }

    private static JsonSerializerOptions Options { get; } = new(JsonSerializerDefaults.Web) { DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull };

    public static double Milliseconds(Instant at) => at.UnixMicroseconds / 1000.0;

    public static Instant InstantOf(double milliseconds) => new((long)Math.Round(milliseconds * 1000));

    public IResult Answer() => Results.Json(this, Options);

    public string Json() => JsonSerializer.Serialize(this, Options);
}

/// <summary>One line.</summary>
public sealed record ChartSeries
{
    /// <summary>Unique in the chart.</summary>
    public required string Name { get; init; }

    /// <summary>As people read it; empty: a number without unit.</summary>
    public required string Unit { get; init; }

    /// <summary>Places on the axis, ascending.</summary>
    public required IReadOnlyList<double> At { get; init; }

    /// <summary>As many; null: nothing is known from here to the next place, and the line is broken.</summary>
    public required IReadOnlyList<double?> Value { get; init; }

    /// <summary>Lower edge of a band about the line, null where the value is; null: no band.</summary>
    public IReadOnlyList<double?>? Low { get; init; }

    public IReadOnlyList<double?>? High { get; init; }

    /// <summary><c>step</c>: each value holds until the next; <c>line</c>: joined; <c>points</c>: not joined.</summary>
    public string Form { get; init; } = "step";

    /// <summary>Off and on instead of 0 and 1.</summary>
    public bool IsFlag { get; init; }

    /// <summary>Dashed, for what is expected rather than measured.</summary>
    public bool Dashed { get; init; }

    /// <summary>Series with the same text share a panel; null: by unit.</summary>
    public string? Panel { get; init; }
}

/// <summary>A stretch of the axis with a name.</summary>
/// <param name="From">On the axis.</param>
/// <param name="Until">On the axis.</param>
/// <param name="Label">For people: shown where it fits.</param>
/// <param name="Kind"><c>phase</c>, <c>pause</c>, <c>gap</c>, <c>uncertain</c> or <c>bad</c>.</param>
/// <param name="Series">The series that it is about; null: all.</param>
public sealed record ChartSpan(double From, double Until, string Label, string Kind, string? Series = null);

/// <summary>A limit: a line across at <paramref name="Value"/>, or upright at <paramref name="At"/>.</summary>
/// <param name="Label">For people.</param>
/// <param name="Unit">The unit, and so the panel, that it belongs to.</param>
/// <param name="Panel">As in <see cref="ChartSeries.Panel"/>.</param>
public sealed record ChartLimit(string Label, string Unit, double? Value = null, double? At = null, string? Panel = null);
