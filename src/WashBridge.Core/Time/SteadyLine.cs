using System.Runtime.InteropServices;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;

namespace WashBridge.Core.Time;

/// <summary>
/// The time line of a cycle, rebuilt from its frames: where the clock jumped, and which steady time a wall-clock reading stands for.
/// The frames may begin anywhere, so that the line is fastened to the moments that the cycle record already carries.
/// </summary>
internal sealed class SteadyLine
{
    /// <summary>Comparable with no moment of the cycle: what cannot be placed proves nothing.</summary>
    private const int Nowhere = int.MinValue + 1;

    private readonly List<Stretch> stretches;

    private SteadyLine(List<Stretch> stretches, bool isFastened)
    {
        this.stretches = stretches;
        IsFastened = isFastened;
    }

    /// <summary>False when the frames do not tell the clock jumps that the cycle's own moments show: they are not the frames of this cycle.</summary>
    public bool IsFastened { get; }

    /// <summary>
    /// After the clock was set back, the cycle can fit in two places; the frames end with the cycle, so that the later one is taken.
    /// </summary>
    public static SteadyLine Of(CycleRecord cycle, IReadOnlyList<Frame> frames)
    {
        var relative = Split(frames);
        var known = Moments(cycle).Where(m => m.IsKnown).Distinct().ToList();
        foreach (var at in known.Count > 0 ? Candidates(relative, known[0]) : [])
        {
            var placed = Fasten(relative, at, known[0]);
            if (known.TrueForAll(m => Holding(placed, m.Wall).Exists(s => s.Line.Place(m.Wall) == m)))
            {
                return new SteadyLine(placed, true);
            }
        }

        return new SteadyLine([.. relative.Select(s => s with { Line = new Timeline(s.Line.ShiftMicroseconds, Nowhere) })], false);
    }

    /// <summary>Steady time orders moments of one epoch; epochs follow each other.</summary>
    public static int Compare(Moment a, Moment b) => a.Epoch != b.Epoch ? a.Epoch.CompareTo(b.Epoch) : a.Steady.CompareTo(b.Steady);

    public static Moment Max(Moment a, Moment b) => Compare(a, b) >= 0 ? a : b;

    public static Moment Min(Moment a, Moment b) => Compare(a, b) <= 0 ? a : b;

    /// <summary>How long it was from one moment to a later one; zero where they are reversed, null where nothing connects their clocks.</summary>
    public static TimeSpan? Between(Moment from, Moment to)
    {
        if (from.Epoch != to.Epoch)
        {
            return null;
        }

        return to.Steady > from.Steady ? to.Steady - from.Steady : TimeSpan.Zero;
    }

    /// <summary>Places a reading of the frame with this index.</summary>
    public Edge Place(int frameIndex, TimeBounds wall)
    {
        var line = stretches.Count == 1 ? stretches[0].Line : stretches.FindLast(s => s.FirstFrame <= frameIndex)!.Line;
        return new Edge(line.Place(wall.Earliest), line.Place(wall.Latest));
    }

    /// <summary>
    /// Places wall-clock bounds of which the frames are not known. Where the clock jumped, one reading can stand for several moments, and
    /// the later of two can read earlier: all that it can mean is covered, so that what is called a gap is never too short.
    /// </summary>
    public Edge Place(TimeBounds wall)
    {
        var meanings = new[] { wall.Earliest, wall.Latest }.SelectMany(Meanings).ToList();
        return new Edge(meanings.Aggregate(Min), meanings.Aggregate(Max));
    }

    private IEnumerable<Moment> Meanings(Instant wall) => Holding(stretches, wall).Select(s => s.Line.Place(wall));

    /// <summary>The stretches in which the wall clock read this; all of them if none did, as before the first frame.</summary>
    private static List<Stretch> Holding(List<Stretch> stretches, Instant wall)
    {
        var holding = stretches.FindAll(s => s.Holds(wall));
        return holding.Count > 0 ? holding : stretches;
    }

    /// <summary>The stretches between jumps, from an unknown beginning. A group that is read back in time tells a jump of which nobody told.</summary>
    private static List<Stretch> Split(IReadOnlyList<Frame> frames)
    {
        var stretches = new List<Stretch>();
        var open = new Stretch(0, default, null, null);
        var (first, last, any) = (default(Instant), default(Instant), false);
        var lastRead = new Dictionary<int, Moment>();
        for (var i = 0; i < frames.Count; i++)
        {
            var frame = frames[i];
            if (frame.Kind == FrameKind.Clock)
            {
                Close(i, new ClockShift(frame.Clock?.Shift));
                continue;
            }

            var read = frame.Read;
            if (frame.Kind != FrameKind.Failed)
            {
                var (earliest, latest) = (open.Line.Place(read.Earliest), open.Line.Place(read.Latest));
                ref var before = ref CollectionsMarshal.GetValueRefOrAddDefault(lastRead, frame.Group, out var wasRead);
                if (wasRead && latest.Epoch == before.Epoch && latest.Steady < before.Steady)
                {
                    Close(i, new ClockShift(null));
                    earliest = open.Line.Place(read.Earliest);
                }

                before = earliest;
            }

            first = any ? Instant.Min(first, read.Earliest) : read.Earliest;
            last = any ? Instant.Max(last, read.Latest) : read.Latest;
            any = true;
        }

        stretches.Add(any ? open with { First = first, Last = last } : open);
        return stretches;

        void Close(int frame, ClockShift clock)
        {
            stretches.Add(any ? open with { First = first, Last = last } : open);
            open = open.After(frame, clock);
            any = false;
        }
    }

    private static IEnumerable<int> Candidates(List<Stretch> stretches, Moment anchor)
    {
        for (var i = stretches.Count - 1; i >= 0; i--)
        {
            if (stretches[i].Holds(anchor.Wall))
            {
                yield return i;
            }
        }

        // The cycle began before the first frame.
        yield return 0;
    }

    private static List<Stretch> Fasten(List<Stretch> stretches, int at, Moment anchor)
    {
        var epoch = anchor.Epoch - stretches[at].Line.Epoch;
        var shift = anchor.Wall.UnixMicroseconds - anchor.Steady.UnixMicroseconds - stretches[at].Line.ShiftMicroseconds;
        var fastened = stretches[at].Line.Epoch;

        // An unknown shift starts a new line, on which the shift before no longer counts.
        return [.. stretches.Select(s => s with
        {
            Line = new Timeline(s.Line.ShiftMicroseconds + (s.Line.Epoch == fastened ? shift : 0), s.Line.Epoch + epoch),
        })];
    }

    private static IEnumerable<Moment> Moments(CycleRecord cycle)
    {
        var steps = cycle.Phases.SelectMany(p => p.Passes).SelectMany(p => p.Steps);
        return new[] { cycle.Start, cycle.End }.Concat(steps.SelectMany(s => new[] { s.Start, s.End })).SelectMany(e => new[] { e.Earliest, e.Latest });
    }

    /// <summary>Frames between two jumps of the clock.</summary>
    private sealed record Stretch(int FirstFrame, Timeline Line, Instant? First, Instant? Last)
    {
        public Stretch After(int frame, ClockShift clock) => new(frame, Line.After(clock), null, null);

        public bool Holds(Instant wall) => First is { } first && Last is { } last && wall >= first && wall <= last;
    }
}
