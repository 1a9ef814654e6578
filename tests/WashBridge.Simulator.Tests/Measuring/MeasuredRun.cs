using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Simulator.Controller;
using WashBridge.Simulator.Polling;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests.Measuring;

/// <summary>What the plant did in one scan.</summary>
internal readonly record struct PlantState(TimeSpan At, Dictionary<string, double> Values);

/// <summary>A cycle as it was measured, beside the truth of it.</summary>
/// <param name="Truth">The true cycle in which it ended; null if none can be told.</param>
internal sealed record MeasuredCycle(CycleRecord Record, IReadOnlyList<Frame> Frames, TimeBounds? PreviousEnd, CycleFeatures Features, TrueCycle? Truth)
{
    public Feature? Find(string key)
    {
        foreach (var figure in Features.Figures)
        {
            if (figure.Key == key)
            {
                return figure;
            }
        }

        return null;
    }

    public Feature this[string key] => Find(key) ?? throw new InvalidOperationException($"{Record.Id} has no {key}");
}

/// <summary>A simulated washer, polled, segmented and measured, with everything that its plant did written down scan by scan.</summary>
internal sealed class MeasuredRun
{
    /// <summary>As a caller would hand over: some time before the previous cycle's end, so that every group has a full frame.</summary>
    private static readonly TimeSpan Before = TimeSpan.FromSeconds(130);

    private readonly List<PlantState> _states = [];

    public MeasuredRun(WasherOptions options, PollerOptions polling, TimeSpan duration, Recipe? recipe = null, bool withTruth = true)
    {
        var washer = new SimulatedWasher(options);
        if (withTruth)
        {
            washer.Scanned += now => _states.Add(new PlantState(now, StateOf(washer)));
        }

        var poller = new VirtualPoller(washer, polling);
        Clock = poller.Clock;

        // By its valves alone the end of the evacuation looks like the purge, with only a drain of 2 s between the two.
        var segmenter = new Segmenter(washer.Model with { GapLimit = TimeSpan.FromSeconds(1.9) });
        var frames = new List<(Frame Frame, TimeSpan At)>();
        var deadBands = washer.Map.ToDictionary(m => m.Signal, m => m.DeadBand);
        CycleRecord? previous = null;
        var previousAt = TimeSpan.Zero;
        foreach (var frame in poller.PollUntil(duration))
        {
            frames.Add((frame, washer.Now));
            foreach (var ended in segmenter.Accept(frame).OfType<CycleEnded>())
            {
                var evidence = frames.FindAll(f => f.At + Before >= previousAt).ConvertAll(f => f.Frame);
                var kegs = Judge.Decide(ended.Cycle, evidence, Anything, []).Select(k => new WashedKeg(k.Station, k.KegId)).ToList();
                var features = FeatureExtractor.Of(ended.Cycle, evidence, recipe ?? Anything, kegs, previous?.End.Wall, s => deadBands[s]);
                Cycles.Add(new MeasuredCycle(ended.Cycle, evidence, previous?.End.Wall, features, TruthOf(ended.Cycle, washer)));
                previous = ended.Cycle;
                previousAt = washer.Now;
            }
        }

        Washer = washer;
    }

    public static Recipe Anything { get; } = new() { Id = "anything", Version = 1, Requirements = [] };

    public SimulatedWasher Washer { get; }

    public BridgeClock Clock { get; }

    public List<MeasuredCycle> Cycles { get; } = [];

    /// <summary>The true values within a stretch of virtual time.</summary>
    public IEnumerable<double> Within(string what, TimeSpan from, TimeSpan to)
    {
        var low = _states.BinarySearch(new PlantState(from, []), Comparer<PlantState>.Create((a, b) => a.At.CompareTo(b.At)));
        for (var i = low < 0 ? ~low : low; i < _states.Count && _states[i].At <= to; i++)
        {
            if (_states[i].Values.TryGetValue(what, out var value))
            {
                yield return value;
            }
        }
    }

    /// <summary>The true figures of the cycle at this place. What counts since the cycle before is among them only where both ends are those that were recorded.</summary>
    public IReadOnlyDictionary<string, TrueFigure> TruthOf(int index)
    {
        var cycle = Cycles[index];
        if (cycle.Truth is not { End: { } end } truth)
        {
            return new Dictionary<string, TrueFigure>();
        }

        var before = index > 0 ? Cycles[index - 1] : null;
        var since = before?.Truth is { End: { } previous } && Holds(before.Record.End, previous) && Holds(cycle.Record.End, end) && before.Truth.Number == truth.Number - 1 ? previous : (TimeSpan?)null;
        return TrueFigures.Of(this, truth, since, step => !IsBeforeTheRecord(cycle.Record, step));
    }

    public bool Holds(Edge edge, TimeSpan time) => Clock.Place(time) is var at && at.Epoch == edge.Latest.Epoch && at.Epoch == edge.Earliest.Epoch && at.Steady >= edge.Earliest.Steady && at.Steady <= edge.Latest.Steady;

    /// <summary>Of a cycle that was joined late, or parted, no figure speaks of the steps that were over by then.</summary>
    private bool IsBeforeTheRecord(CycleRecord record, TrueStep step) =>
        record.Phases.SelectMany(p => p.Passes).SelectMany(p => p.Steps).FirstOrDefault(s => s.Seen) is { } first
        && step.End is { } end && Clock.Place(end) is var at && at.Epoch == first.Start.Latest.Epoch && at.Steady < first.Start.Latest.Steady;

    private static TrueCycle? TruthOf(CycleRecord cycle, SimulatedWasher washer) =>
        washer.FinishedCycles.LastOrDefault(t => cycle.CycleCount is null || t.CycleCount == cycle.CycleCount);

    private static Dictionary<string, double> StateOf(SimulatedWasher washer)
    {
        var plant = washer.Plant;
        var values = new Dictionary<string, double>
        {
            ["flow"] = 60 * plant.SupplyFlow,
            ["water"] = plant.WaterBar,
            ["spray"] = plant.Pump.DeliveryBar,
            ["current"] = plant.Pump.MotorAmperes,
            ["co2"] = plant.Co2Bar,
            ["pump"] = plant.Pump.Running ? 1 : 0,
            ["away"] = washer.Signature.Mode == ControllerMode.Off ? 1 : 0,
        };
        for (var i = 0; i < plant.Kegs.Length; i++)
        {
            values[$"keg@{i + 1}"] = plant.KegBar(i);
            values[$"return-cel@{i + 1}"] = plant.ReturnCel(i);
            values[$"return-conductivity@{i + 1}"] = plant.ReturnConductivity(i);
        }

        foreach (var bath in plant.Baths)
        {
            var name = bath.Kind.ToString().ToLowerInvariant();
            values["cel/" + name] = bath.ProbeCel;
            values["conductivity/" + name] = bath.ProbeConductivity;
            values["level/" + name] = bath.LevelPercent;
            values["dosing/" + name] = bath.DosingOn ? 1 : 0;
            values["heater/" + name] = bath.HeaterOn ? 1 : 0;
        }

        return values;
    }
}
