using WashBridge.Core.Time;

namespace WashBridge.Core.Features.Extraction;

/// <summary>Where a read lies on the steady time line: not before and not after, in microseconds of one epoch.</summary>
internal readonly record struct Stamp(int Epoch, long Earliest, long Latest)
{
    public long Middle => Earliest + ((Latest - Earliest) / 2);

    public static Stamp Of(Edge edge) => new(edge.Latest.Epoch, edge.Earliest.Steady.UnixMicroseconds, edge.Latest.Steady.UnixMicroseconds);
}

/// <summary>A stretch of the steady time line, in microseconds of one epoch.</summary>
internal readonly record struct Window(int Epoch, long From, long To)
{
    public double Seconds => (To - From) / 1e6;

    /// <summary>Null where nothing lies between the two, or nothing connects their clocks.</summary>
    public static Window? Between(Moment from, Moment to) => from.IsKnown && from.Epoch == to.Epoch && from.Steady < to.Steady
        ? new Window(from.Epoch, from.Steady.UnixMicroseconds, to.Steady.UnixMicroseconds)
        : null;

    /// <summary>From the middle of one edge to the middle of another.</summary>
    public static Window? BetweenMiddles(Edge from, Edge to)
    {
        if (!from.Earliest.IsKnown || !to.Latest.IsKnown || from.Earliest.Epoch != from.Latest.Epoch || to.Earliest.Epoch != to.Latest.Epoch || from.Latest.Epoch != to.Earliest.Epoch)
        {
            return null;
        }

        var (a, b) = (Stamp.Of(from).Middle, Stamp.Of(to).Middle);
        return a < b ? new Window(from.Latest.Epoch, a, b) : null;
    }

    /// <summary>Without some time at its ends; null where nothing is left.</summary>
    public Window? Without(long startMicroseconds, long endMicroseconds) =>
        To - From > startMicroseconds + endMicroseconds ? new Window(Epoch, From + startMicroseconds, To - endMicroseconds) : null;

    public Window? NotBefore(long from) => from < To ? this with { From = Math.Max(From, from) } : null;
}
