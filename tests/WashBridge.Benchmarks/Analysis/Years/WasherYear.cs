using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Simulator;
using WashBridge.Simulator.Polling;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>Simulates one washer-year through the whole pipeline: plant, controller, poller, segmenter, figures.</summary>
internal static class WasherYear
{
    /// <summary>Longer than the longest heartbeat of a group.</summary>
    private static readonly TimeSpan Lead = TimeSpan.FromSeconds(65);
    private static readonly TimeSpan LongestRest = TimeSpan.FromMinutes(30);

    /// <param name="seed">Of everything.</param>
    /// <param name="cycles">To be recorded, after the warm-up.</param>
    /// <param name="write">Takes the events in the order of the log.</param>
    /// <param name="cancellation">Ends it with an exception.</param>
    public static YearTruth Run(int seed, int cycles, Action<WashEvent> write, CancellationToken cancellation = default)
    {
        var plan = new YearPlan(seed);
        var washer = new SimulatedWasher(plan.Washer);
        var poller = new VirtualPoller(washer, plan.Polling);
        washer.AdvanceTo(plan.Polling.Begin);
        var director = new YearDirector(plan, washer, poller.Clock);
        var segmenter = new Segmenter(washer.Model);
        var deadBands = washer.Map.ToDictionary(m => m.Signal, m => m.DeadBand);
        var firstCount = washer.FinishedCycles.Last().CycleCount - washer.FinishedCycles.Last().Number;
        var recipes = new Dictionary<int, Core.Recipes.Recipe>();
        var last = director.WarmUp + cycles;
        var ids = new string?[last];
        var frames = new List<Frame>();
        Edge? previous = null;
        foreach (var frame in poller.PollUntil(TimeSpan.MaxValue))
        {
            cancellation.ThrowIfCancellationRequested();
            frames.Add(frame);
            foreach (var washEvent in segmenter.Accept(frame))
            {
                if (washEvent is SetpointChanged)
                {
                    write(washEvent);
                }
                else if (washEvent is CycleEnded { Cycle: var cycle })
                {
                    var number = (int)((cycle.CycleCount ?? 0) - firstCount);
                    if (number > director.WarmUp && number <= last)
                    {
                        ids[number - 1] = cycle.Id;
                    }

                    if (director.Cycle > director.WarmUp)
                    {
                        write(Measure(cycle, washEvent.At, number));
                    }

                    previous = cycle.End;
                    Forget(frames, washEvent.At.Latest - Lead);
                }
            }

            while (director.TakeRecord(washer.Now) is { } record)
            {
                write(record);
            }

            if (director.Cycle >= last && washer.CurrentCycle is null && ids[last - 1] is not null)
            {
                break;
            }

            if (director.Cycle >= last + 2)
            {
                break; // nobody saw the end of the last one
            }
        }

        return new YearTruth
        {
            Format = YearTruth.CurrentFormat,
            Seed = seed,
            Washer = plan.Washer.Id,
            Stations = plan.Washer.Stations,
            IsFaultFree = plan.IsFaultFree,
            DrainTimeoutSeconds = plan.Washer.DrainTimeout.TotalSeconds,
            Limits = plan.Limits,
            Description = plan.Description,
            WarmUp = director.WarmUp,
            Cycles = director.Cycle,
            CycleIds = ids,
            Recipes = [.. director.Recipes.Select(r => new RecipeInForce(r.FromCycle, plan.RecipeOf(r.Version)))],
            Episodes = director.Episodes,
            Routine = director.Routine,
            Health = director.Health,
        };

        CycleMeasured Measure(CycleRecord cycle, TimeBounds at, int number)
        {
            var version = director.Recipes.FindLast(r => r.FromCycle <= Math.Max(1, number)).Version;
            var recipe = recipes.TryGetValue(version, out var known) ? known : recipes[version] = plan.RecipeOf(version);
            return new CycleMeasured
            {
                Id = cycle.Id + "/measured",
                Washer = cycle.Washer,
                At = at,
                CycleId = cycle.Id,
                Features = FeatureExtractor.Of(cycle, frames, recipe, KegsOf(cycle), Rested(cycle, previous), s => deadBands[s]),
            };
        }
    }

    /// <summary>As the service has it: after a long rest, such as a night, nothing is counted since the cycle before.</summary>
    private static TimeBounds? Rested(CycleRecord cycle, Edge? previous) =>
        previous is { Earliest.IsKnown: true, Latest.IsKnown: true } end && cycle.Start.Earliest.Wall - end.Earliest.Wall <= LongestRest ? end.Wall : null;

    /// <summary>With the ids that their verdicts would have.</summary>
    private static List<WashedKeg> KegsOf(CycleRecord cycle) =>
        [.. cycle.Stations.Where(s => s.KegPresent != false).Select(s => new WashedKeg(s.Station, string.IsNullOrWhiteSpace(s.KegTag) ? $"{cycle.Id}-s{s.Station}" : s.KegTag.Trim()))];

    private static void Forget(List<Frame> frames, Instant before)
    {
        var old = 0;
        while (old < frames.Count && frames[old].Read.Latest < before)
        {
            old++;
        }

        frames.RemoveRange(0, old);
    }
}
