using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Records;

/// <summary>What a person decides about a keg.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<KegDecision>))]
public enum KegDecision
{
    /// <summary>Not to be filled until somebody lifts it.</summary>
    Hold = 0,

    /// <summary>May be filled.</summary>
    Release = 1,

    /// <summary>To be washed again before anything else.</summary>
    Rewash = 2,
}

/// <summary>A person decided about a keg, on the evidence named. <see cref="WashEvent.CycleId"/> is the washing decided about.</summary>
public sealed record KegDecided : WashEvent, IRecord, IAboutKegs
{
    public required Act Act { get; init; }

    public required string KegId { get; init; }

    /// <summary>Where it was washed; 0 if it never was here.</summary>
    public required int Station { get; init; }

    public required KegDecision Decision { get; init; }

    /// <summary>What had been decided about this washing before; null: nothing.</summary>
    public KegDecision? Was { get; init; }

    /// <summary>Id of the event with the verdict that the decision goes by; null: there is none.</summary>
    public string? VerdictId { get; init; }

    public Verdict? Verdict { get; init; }

    [JsonIgnore]
    public IReadOnlyList<string> Kegs => [KegId];
}

[JsonConverter(typeof(JsonStringEnumConverter<InspectionKind>))]
public enum InspectionKind
{
    /// <summary>The spear was pulled and the inside looked at.</summary>
    SpearPull = 0,

    /// <summary>A surface was swabbed and the swab measured.</summary>
    Swab = 1,

    /// <summary>What the last rinse left in the keg was titrated.</summary>
    Titration = 2,
}

/// <summary>A person looked into a keg, swabbed it, or titrated what was left in it.</summary>
public sealed record KegInspected : WashEvent, IRecord, IAboutKegs
{
    public required Act Act { get; init; }

    public required string KegId { get; init; }

    /// <summary>The lot for which it was drawn; null: none.</summary>
    public string? Lot { get; init; }

    public required InspectionKind Inspection { get; init; }

    public required bool Passed { get; init; }

    /// <summary>What was found, in the person's words.</summary>
    public required string Found { get; init; }

    /// <summary>What was measured, in <see cref="Unit"/>; null: nothing.</summary>
    public double? Value { get; init; }

    public string? Unit { get; init; }

    [JsonIgnore]
    public IReadOnlyList<string> Kegs => [KegId];
}

/// <summary>The kegs of a lot that are to be opened were drawn at random.</summary>
public sealed record LotSampled : WashEvent, IRecord, IAboutKegs
{
    public required Act Act { get; init; }

    /// <summary>What the lot is called.</summary>
    public required string Lot { get; init; }

    /// <summary>Kegs in the lot, and the fingerprint of their ids.</summary>
    public required int Size { get; init; }

    public required string Fingerprint { get; init; }

    /// <summary>The plan, in one line.</summary>
    public required string Plan { get; init; }

    /// <summary>Failing kegs among those drawn with which the lot still passes.</summary>
    public required int AcceptanceNumber { get; init; }

    /// <summary>The same lot and seed draw the same kegs again.</summary>
    public required string Seed { get; init; }

    /// <summary>The kegs to open, as drawn.</summary>
    public required IReadOnlyList<string> Drawn { get; init; }

    /// <summary>What it proves if the lot passes.</summary>
    public required string Proof { get; init; }

    [JsonIgnore]
    public IReadOnlyList<string> Kegs => Drawn;
}
