using WashBridge.Core.Alarms;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Alarms;

/// <summary>How the condition of an alarm stands, as whoever watches it tells the book.</summary>
public sealed record AlarmReport
{
    /// <summary>Unique at the washer, such as <c>drain-valve@2</c>.</summary>
    public required string Alarm { get; init; }

    public required AlarmPriority Priority { get; init; }

    public required AlarmText Text { get; init; }

    /// <summary>Whether the condition holds.</summary>
    public required bool Holds { get; init; }

    /// <summary>Since when it holds; null: since the event that tells it.</summary>
    public Instant? Since { get; init; }

    /// <summary>It must hold for so long before the alarm arises.</summary>
    public AlarmDelay OnDelay { get; init; }

    /// <summary>It must not hold for so long before the alarm ends.</summary>
    public AlarmDelay OffDelay { get; init; }

    /// <summary>It rests on measured values, which are not to be had while the washer cannot be read.</summary>
    public bool IsMeasured { get; init; } = true;

    /// <summary>Why it is to be suppressed by design from the start; null: it is not.</summary>
    public string? SuppressedBecause { get; init; }
}

/// <summary>How long a condition must last. Both must have passed.</summary>
/// <param name="Cycles">Cycles that ended, the one that brought the condition included: 0 and 1 mean at once.</param>
/// <param name="Time">By the time that events carry, not below 0.</param>
public readonly record struct AlarmDelay(int Cycles = 0, TimeSpan Time = default);

/// <summary>A limit with a dead band: a value that hovers about the limit gives one alarm, not many.</summary>
/// <param name="Limit">At or beyond it the condition holds.</param>
/// <param name="Bad">Which side is the bad one; <see cref="Worse.Either"/> is not allowed.</param>
/// <param name="DeadBand">By so much the value must come back before the condition ends; not below 0, in the unit of the limit.</param>
public readonly record struct AlarmLimit(double Limit, Worse Bad, double DeadBand)
{
    /// <summary>Whether the condition holds now. A value that is not finite changes nothing.</summary>
    /// <exception cref="InvalidOperationException">The limit has no bad side.</exception>
    public bool Holds(double value, bool held) => Bad switch
    {
        _ when !double.IsFinite(value) => held,
        Worse.Higher => Beyond(value - Limit, held),
        Worse.Lower => Beyond(Limit - value, held),
        _ => throw new InvalidOperationException("a limit needs a bad side, higher or lower"),
    };

    private bool Beyond(double excess, bool held) => excess >= 0 || (held && excess > -DeadBand);
}
