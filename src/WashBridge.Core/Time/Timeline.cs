using System.Text.Json.Serialization;

namespace WashBridge.Core.Time;

/// <summary>
/// How far the wall clock jumped between two frames, as told by a clock that cannot be set.
/// </summary>
/// <param name="Shift">The wall clock now reads this much later (negative: earlier) than it would have without the jump.
/// Null when nothing connects the two sides, as after a reboot: no duration across it is known.</param>
public readonly record struct ClockShift(TimeSpan? Shift);

/// <summary>An instant with its place on a time line that no clock step disturbs.</summary>
/// <param name="Wall">What the wall clock read, for people.</param>
/// <param name="Steady">The wall clock less all known shifts, for durations.</param>
/// <param name="Epoch">Counts the unknown shifts; steady times of different epochs cannot be compared.</param>
public readonly record struct Moment(Instant Wall, Instant Steady, int Epoch)
{
    /// <summary>
    /// An unknown moment not after this one, to begin an edge that nobody can bound: durations from it have no upper bound.
    /// Its wall time is this one's, for people, and says nothing.
    /// </summary>
    public Moment SomeTimeBefore() => this with { Epoch = int.MinValue };

    /// <summary>An unknown moment not before this one, to end an edge that nobody can bound: durations to it have no upper bound.</summary>
    public Moment SomeTimeAfter() => this with { Epoch = int.MaxValue };

    /// <summary>False for what <see cref="SomeTimeBefore"/> and <see cref="SomeTimeAfter"/> make.</summary>
    [JsonIgnore]
    public bool IsKnown => Epoch is not (int.MinValue or int.MaxValue);
}

/// <summary>An edge: it happened not before <paramref name="Earliest"/> and not after <paramref name="Latest"/>.</summary>
public readonly record struct Edge(Moment Earliest, Moment Latest)
{
    public TimeBounds Wall => new(Earliest.Wall, Latest.Wall);

    /// <summary>
    /// How long it was from this edge to <paramref name="end"/>. A side of the interval whose clock relation is unknown stays open.
    /// </summary>
    public DurationBounds Until(Edge end)
    {
        var lower = Latest.Epoch == end.Earliest.Epoch && end.Earliest.Steady > Latest.Steady ? end.Earliest.Steady - Latest.Steady : TimeSpan.Zero;
        if (Earliest.Epoch != end.Latest.Epoch)
        {
            return new DurationBounds(lower, TimeSpan.MaxValue);
        }

        var upper = end.Latest.Steady - Earliest.Steady;
        return new DurationBounds(lower, upper > TimeSpan.Zero ? upper : TimeSpan.Zero);
    }
}

/// <summary>Places wall-clock instants on the steady time line, given the clock shifts so far. A value: fold it along with the frames.</summary>
public readonly record struct Timeline(long ShiftMicroseconds, int Epoch)
{
    public Timeline After(ClockShift clock) => clock.Shift is { } shift
        ? this with { ShiftMicroseconds = ShiftMicroseconds + (shift.Ticks / TimeSpan.TicksPerMicrosecond) }
        : new Timeline(0, Epoch + 1);

    public Moment Place(Instant wall) => new(wall, new Instant(wall.UnixMicroseconds - ShiftMicroseconds), Epoch);
}
