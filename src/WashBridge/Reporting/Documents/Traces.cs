using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Reporting.Documents;

/// <summary>Where a figure comes from, so that somebody can find it again.</summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "kind")]
[JsonDerivedType(typeof(SampleTrace), "samples")]
[JsonDerivedType(typeof(EventTrace), "events")]
[JsonDerivedType(typeof(HourTrace), "hours")]
internal abstract record Trace
{
    /// <summary>From 1.</summary>
    public int Number { get; init; }

    /// <summary>What it is the source of.</summary>
    public required string Of { get; init; }

    /// <summary>Null: all washers.</summary>
    public required string? Washer { get; init; }

    /// <summary>Null: from the first entry.</summary>
    public required Instant? From { get; init; }

    /// <summary>Null: to the last.</summary>
    public required Instant? Until { get; init; }

    /// <summary>The first of its log entries; null where there is none.</summary>
    public required long? FirstSequence { get; init; }

    public required long? LastSequence { get; init; }
}

/// <summary>Values that were read from a controller.</summary>
/// <param name="Signals">Signals that are read together, each as <c>washer/name</c> or <c>washer/station/name</c>.</param>
/// <param name="Unit">Of a single signal; empty for several.</param>
/// <param name="Polls">Frames of the signals' group within the span that were read.</param>
/// <param name="Failed">Those that could not be read.</param>
/// <param name="Samples">Values of the signals that were recorded within the span: a value that does not change is not recorded again.</param>
internal sealed record SampleTrace(IReadOnlyList<string> Signals, string Unit, int Polls, int Failed, int Samples) : Trace;

/// <summary>Events of the log.</summary>
/// <param name="Kinds">As in their JSON, such as <c>keg-judged</c>.</param>
/// <param name="CycleId">Of this cycle only; null: of all.</param>
internal sealed record EventTrace(IReadOnlyList<string> Kinds, string? CycleId, int Events) : Trace;

/// <summary>Values of one signal, from the historian's summaries by the hour; the values themselves can be read by signal and span as long as they are kept.</summary>
/// <param name="Hours">Hours that have a summary.</param>
/// <param name="Samples">Recorded values behind them.</param>
internal sealed record HourTrace(string Signal, string Unit, int Hours, int Samples) : Trace;
