using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;

namespace WashBridge.Core.Records;

/// <summary>A field of a record was wrong. The record stays as it was; readers show both.</summary>
public sealed record RecordCorrected : WashEvent, IRecord, IAboutKegs
{
    public required Act Act { get; init; }

    /// <summary>Number of the record in the chain.</summary>
    public required long Number { get; init; }

    /// <summary>Kind of that record, such as <c>titration-recorded</c>.</summary>
    public required string Of { get; init; }

    /// <summary>The field's name in its JSON.</summary>
    public required string Field { get; init; }

    /// <summary>As JSON, such as <c>2.1</c> or <c>"caustic"</c>; null: the field was not set.</summary>
    public string? OldValue { get; init; }

    public string? NewValue { get; init; }

    /// <summary>The kegs that the record is about, before and after the correction.</summary>
    public IReadOnlyList<string> KegIds { get; init; } = [];

    [JsonIgnore]
    public IReadOnlyList<string> Kegs => KegIds;
}
