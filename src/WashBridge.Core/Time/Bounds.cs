namespace WashBridge.Core.Time;

/// <summary>The earliest and the latest instant at which something can have happened. Both are inclusive.</summary>
public readonly record struct TimeBounds(Instant Earliest, Instant Latest)
{
    public TimeSpan Width => Latest - Earliest;

    public static TimeBounds At(Instant instant) => new(instant, instant);
}

/// <summary>The shortest and the longest a duration can have been. Both are inclusive and not negative.</summary>
public readonly record struct DurationBounds(TimeSpan Lower, TimeSpan Upper)
{
    /// <summary>Nothing is known: anything from zero to for ever.</summary>
    public static DurationBounds Unknown => new(TimeSpan.Zero, TimeSpan.MaxValue);

    public static DurationBounds Zero => new(TimeSpan.Zero, TimeSpan.Zero);

    public bool IsUpperKnown => Upper != TimeSpan.MaxValue;

    public bool Contains(TimeSpan duration) => duration >= Lower && duration <= Upper;

    public static DurationBounds operator +(DurationBounds a, DurationBounds b) =>
        new(a.Lower + b.Lower, a.IsUpperKnown && b.IsUpperKnown ? a.Upper + b.Upper : TimeSpan.MaxValue);
}
