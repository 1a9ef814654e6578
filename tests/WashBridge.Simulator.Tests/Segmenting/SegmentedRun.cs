using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Simulator.Polling;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests.Segmenting;

/// <summary>One simulated run, read and segmented, beside the truth.</summary>
internal sealed class SegmentedRun
{
    private readonly BridgeClock _clock;
    private readonly List<(Moment From, Moment To)> _unread = [];

    public SegmentedRun(int seed, int faults)
    {
        var washer = new SimulatedWasher(RandomScenario.Washer(seed, faults));
        var poller = new VirtualPoller(washer, RandomScenario.Poller(seed));
        _clock = poller.Clock;

        // By its valves alone the end of the evacuation looks like the purge, with only a drain of 2 s between the two.
        Model = washer.Model with { GapLimit = TimeSpan.FromSeconds(1.9) };
        var segmenter = new Segmenter(Model);
        var timeline = new Timeline(0, 0);
        var read = default(Moment).SomeTimeBefore();
        Edge? open = null;
        var began = new Dictionary<string, int>();
        foreach (var frame in Poll(washer, poller))
        {
            Frames.Add(frame);
            timeline = frame.Clock is { } shift ? timeline.After(shift) : timeline;
            if (frame is { Group: 0, Kind: FrameKind.Full or FrameKind.Changes })
            {
                var latest = timeline.Place(frame.Read.Latest);
                if (latest.Epoch != read.Epoch || latest.Steady - read.Steady > Model.GapLimit)
                {
                    _unread.Add((read, latest));
                }

                read = timeline.Place(frame.Read.Earliest);
            }

            foreach (var washEvent in segmenter.Accept(frame))
            {
                if (washEvent is CycleStarted start)
                {
                    began[start.CycleId!] = Frames.Count - 1;
                    open = start.Edge;
                }
                else if (washEvent is CycleEnded end)
                {
                    open = null;
                    Records.Add((end.Cycle, began[end.CycleId!], Frames.Count));
                }
            }
        }

        _unread.Add((read, read.SomeTimeAfter()));

        // What ended when nobody read any more, or so late that its end is not believed yet, has no record.
        Truths = [.. washer.FinishedCycles];
        Recorded = [.. Truths.Where(c => !Lies(c.End!.Value, _unread[^1]) && (open is not { } edge || Compare(edge.Earliest, c.End!.Value) > 0))];
    }

    public WasherModel Model { get; }

    public List<Frame> Frames { get; } = [];

    /// <summary>Cycles with the indices of the frames between which they were written.</summary>
    public List<(CycleRecord Cycle, int From, int Until)> Records { get; } = [];

    public List<TrueCycle> Truths { get; }

    /// <summary>True cycles that must be in some record or gap.</summary>
    public List<TrueCycle> Recorded { get; }

    /// <summary>A record that claims to be whole.</summary>
    public static bool IsWhole(CycleRecord cycle) => cycle is { StartUnseen: false, Outcome: not CycleOutcome.EndUnseen, Gaps.Count: 0 };

    public bool Holds(Edge edge, TimeSpan time) => Compare(edge.Earliest, time) <= 0 && Compare(edge.Latest, time) >= 0;

    /// <summary>Nobody read the washer from before <paramref name="from"/> until after <paramref name="to"/>, for longer than the gap limit.</summary>
    public bool IsUnread(TimeSpan from, TimeSpan to) => _unread.Exists(u => Compare(u.From, from) <= 0 && Compare(u.To, to) >= 0);

    /// <summary>It lies between a cycle of which nobody saw the end and the next position that could be told.</summary>
    public bool IsBetween(TimeSpan from, TimeSpan to) => Records.Zip(Records.Skip(1)).Any(r =>
        (r.First.Cycle.Outcome == CycleOutcome.EndUnseen || r.Second.Cycle.StartUnseen)
        && Compare(r.First.Cycle.End.Earliest, from) <= 0 && Compare(r.Second.Cycle.Start.Latest, to) >= 0);

    /// <summary>It lies in a cycle of which no step could be placed.</summary>
    public bool IsUnplaced(TimeSpan from, TimeSpan to) => Records.Exists(r =>
        r.Cycle.Phases.Count == 0 && Compare(r.Cycle.Start.Earliest, from) <= 0 && Compare(r.Cycle.End.Latest, to) >= 0);

    /// <summary>It lies within a step of its phase that was seen before and after a gap, and so was taken for one step.</summary>
    public bool IsMerged(string phase, TimeSpan from, TimeSpan to) => Records.Where(r => r.Cycle.Gaps.Count > 0)
        .SelectMany(r => r.Cycle.Phases).Where(p => p.Id == phase).SelectMany(p => p.Passes).SelectMany(p => p.Steps)
        .Any(s => Compare(s.Start.Earliest, from) <= 0 && Compare(s.End.Latest, to) >= 0);

    /// <summary>It lies within one edge of a step: of a cycle with a gap, in which positions could not be told.</summary>
    public bool IsWithinEdge(TimeSpan from, TimeSpan to) => Records.Where(r => r.Cycle.Gaps.Count > 0)
        .SelectMany(r => r.Cycle.Phases).SelectMany(p => p.Passes).SelectMany(p => p.Steps)
        .Any(s => Compare(s.End.Earliest, from) <= 0 && Compare(s.End.Latest, to) >= 0);

    /// <summary>Negative: the moment is before the true time.</summary>
    public int Compare(Moment moment, TimeSpan time)
    {
        var place = _clock.Place(time);
        return moment.Epoch != place.Epoch ? moment.Epoch.CompareTo(place.Epoch) : moment.Steady.CompareTo(place.Steady);
    }

    /// <summary>For the time of the scenario, and on until the cycle that runs then has ended; loading takes longer than the last five seconds.</summary>
    private static IEnumerable<Frame> Poll(SimulatedWasher washer, VirtualPoller poller)
    {
        var end = RandomScenario.Length;
        foreach (var frame in poller.PollUntil(end))
        {
            yield return frame;
        }

        for (var isLast = false; !isLast;)
        {
            isLast = washer.CurrentCycle is null;
            end += TimeSpan.FromSeconds(5);
            foreach (var frame in poller.PollUntil(end))
            {
                yield return frame;
            }
        }
    }

    private bool Lies(TimeSpan time, (Moment From, Moment To) span) => Compare(span.From, time) <= 0 && Compare(span.To, time) >= 0;
}
