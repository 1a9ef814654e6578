using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Historian;

/// <summary>How a chain of records can break.</summary>
public enum RecordBreakKind
{
    /// <summary>What the record says does not fit its hash: it was changed, or another was put in its place.</summary>
    Changed = 0,

    /// <summary>It does not follow from the record before it, though each fits its own hash: one of the two was replaced and its hash made anew.</summary>
    Unlinked = 1,

    /// <summary>Numbers are missing before it.</summary>
    Missing = 2,

    /// <summary>The chain has it, the log does not: it was deleted from the log.</summary>
    WithoutEvent = 3,

    /// <summary>The log has it, the chain does not: it was put in beside the program, or taken out of the chain.</summary>
    WithoutNumber = 4,

    /// <summary>What it is searched by differs from what it says: searches would not find it where it belongs.</summary>
    Misfiled = 5,

    /// <summary>The chain ends before the head that was written down: records were cut off.</summary>
    CutOff = 6,

    /// <summary>The record of the head that was written down has another hash: the chain up to it was made anew.</summary>
    Remade = 7,
}

/// <summary>A place where the chain of records breaks.</summary>
/// <param name="Kind">How.</param>
/// <param name="Number">The record concerned; null: it has none.</param>
/// <param name="Sequence">Its place in the log; null: unknown.</param>
/// <param name="At">When it happened, as far as the record still says.</param>
/// <param name="By">Who did it, as far as the record still says.</param>
/// <param name="Problem">What does not fit.</param>
public sealed record RecordBreak(RecordBreakKind Kind, long? Number, long? Sequence, TimeBounds? At, string? By, string Problem);

/// <summary>What a check of the chain of records found.</summary>
public sealed record RecordCheck
{
    /// <summary>At most so many breaks are told one by one.</summary>
    public const int MostBreaks = 1000;

    /// <summary>Records in the chain.</summary>
    public required long Count { get; init; }

    /// <summary>The first and the last that can be read; null: none.</summary>
    public RecordEntry? First { get; init; }

    public RecordEntry? Last { get; init; }

    /// <summary>The end of the chain, to be written down elsewhere; null: there is no record.</summary>
    public RecordHead? Head { get; init; }

    /// <summary>In the order of their numbers, those without a number last.</summary>
    public required IReadOnlyList<RecordBreak> Breaks { get; init; }

    /// <summary>All breaks, those that are not told included.</summary>
    public required long BreaksFound { get; init; }

    public bool IsWhole => BreaksFound == 0;
}
