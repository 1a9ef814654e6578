using System.Text.Json.Serialization;
using WashBridge.Core.Alarms;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Alarms;

/// <summary>All that the book remembers of one alarm.</summary>
internal sealed record AlarmEntry
{
    public required string Alarm { get; init; }

    public AlarmState State { get; init; } = AlarmState.Normal;

    public required AlarmPriority Priority { get; init; }

    public required AlarmText Text { get; init; }

    /// <summary>The condition, as told last.</summary>
    public bool IsTold { get; init; }

    /// <summary>The condition, delays included.</summary>
    public bool Holds { get; init; }

    /// <summary>Since when the condition holds; null once it does not.</summary>
    public Instant? Since { get; init; }

    /// <summary>When what is told last became different from what holds; null while both agree.</summary>
    public Instant? TurnedAt { get; init; }

    /// <summary>Cycles that ended from then on.</summary>
    public int TurnedCycles { get; init; }

    public AlarmDelay OnDelay { get; init; }

    public AlarmDelay OffDelay { get; init; }

    public bool IsMeasured { get; init; }

    public Instant? ShelvedUntil { get; init; }

    /// <summary>When it changed last, and how many changes at that instant came before that one; null: none.</summary>
    public Instant? ChangedAt { get; init; }

    public int? Turn { get; init; }

    /// <summary>Why it is suppressed by design, or would be once it arises; in order of name.</summary>
    public IReadOnlyList<string> Suppressions { get; init; } = [];

    [JsonIgnore]
    public bool IsSuppressed => Suppressions.Count > 0;
}

/// <param name="Alarms">In order of their keys.</param>
/// <param name="NewSuppressedBecause">See <see cref="AlarmBook.SuppressNew"/>.</param>
internal sealed record AlarmBookState(IReadOnlyList<AlarmEntry> Alarms, string? NewSuppressedBecause);
