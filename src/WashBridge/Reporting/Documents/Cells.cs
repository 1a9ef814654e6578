using System.Text.Json.Serialization;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Reporting.Documents;

/// <summary>One value of a report, typed, so that programs read the figure and people its words.</summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "kind")]
[JsonDerivedType(typeof(TextCell), "text")]
[JsonDerivedType(typeof(NumberCell), "number")]
[JsonDerivedType(typeof(BoundsCell), "bounds")]
[JsonDerivedType(typeof(InstantCell), "instant")]
[JsonDerivedType(typeof(EdgeCell), "edge")]
[JsonDerivedType(typeof(VerdictCell), "verdict")]
internal abstract record Cell
{
    /// <summary>Numbers of the traces that say where it comes from.</summary>
    public IReadOnlyList<int> Traces { get; init; } = [];

    public static implicit operator Cell(string text) => new TextCell(text);

    public static implicit operator Cell(int count) => new NumberCell(count, "");

    public static implicit operator Cell(long count) => new NumberCell(count, "");

    public static implicit operator Cell(Verdict verdict) => new VerdictCell(verdict);

    public static implicit operator Cell(Instant at) => new InstantCell(at);

    public static implicit operator Cell(Edge edge) => new EdgeCell(edge.Wall);

    public static implicit operator Cell(DurationBounds duration) => new BoundsCell(duration.Lower.TotalSeconds, duration.IsUpperKnown ? duration.Upper.TotalSeconds : null, "s");
}

internal sealed record TextCell(string Text) : Cell;

/// <param name="Unit">UCUM-like; empty for a count.</param>
internal sealed record NumberCell(double Value, string Unit) : Cell
{
    /// <summary>A change: written with its sign.</summary>
    public bool IsChange { get; init; }
}

/// <summary>An interval that holds the truth.</summary>
/// <param name="Upper">Null: open.</param>
internal sealed record BoundsCell(double Lower, double? Upper, string Unit) : Cell;

internal sealed record InstantCell(Instant At) : Cell;

/// <summary>When something can have happened.</summary>
internal sealed record EdgeCell(TimeBounds At) : Cell;

internal sealed record VerdictCell(Verdict Verdict) : Cell;
