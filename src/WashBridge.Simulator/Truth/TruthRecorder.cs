using WashBridge.Simulator.Controller;
using WashBridge.Simulator.Physics;

namespace WashBridge.Simulator.Truth;

/// <summary>Writes down what the controller and the plant do, as they do it.</summary>
internal sealed class TruthRecorder(string washer, int capacity, bool sharedSensor)
{
    private readonly Queue<TrueCycle> _finished = new();
    private readonly List<TrueDrain> _draining = [];
    private int _cycles;
    private TrueStep? _step;

    /// <summary>The cycle that runs, or null.</summary>
    public TrueCycle? Current { get; private set; }

    /// <summary>The step that runs or ran last.</summary>
    public TrueStep? Step => _step;

    public IReadOnlyCollection<TrueCycle> Finished => _finished;

    public long Dropped { get; private set; }

    public event Action<TrueCycle>? CycleFinished;

    public void CycleStarted(TimeSpan now, long count, int programme, IReadOnlyList<TrueKeg> kegs) =>
        Current = new TrueCycle { Washer = washer, Number = ++_cycles, CycleCount = count, Programme = programme, Start = now, Kegs = kegs };

    public void StepStarted(TimeSpan now, SequenceSlot slot)
    {
        var phases = Current!.Phases;
        if (phases.Count == 0 || phases[^1].Id != slot.Phase)
        {
            phases.Add(new TruePhase(slot.Phase, slot.PhaseKind, now));
        }

        var passes = phases[^1].Passes;
        if (passes.Count < slot.Pass)
        {
            passes.Add(new TruePass(slot.Pass));
        }

        _step = new TrueStep(slot.Phase, slot.Pass, slot.Kind, slot.Code, now);
        passes[^1].Steps.Add(_step);
    }

    public void StepEnded(TimeSpan now, Plant plant, bool interrupted)
    {
        _step!.End = now;
        _step.Interrupted = interrupted;
        Current!.Phases[^1].End = now;
        foreach (var drain in _draining)
        {
            drain.End = now;
        }

        _draining.Clear();
        foreach (var keg in Current.Kegs)
        {
            keg.HottestCel = Math.Max(keg.HottestCel, plant.Kegs[keg.Station - 1]!.ShellCel);
        }
    }

    public void DrainStarted(TimeSpan now, SequenceSlot slot, Plant plant)
    {
        foreach (var keg in Current!.Kegs)
        {
            var drain = new TrueDrain(keg.Station, slot.Phase, slot.Pass, now, plant.Kegs[keg.Station - 1]!.Litres, plant.DrainValve(keg.Station - 1).Clogging);
            _draining.Add(drain);
            Current.Drains.Add(drain);
        }
    }

    public void DrainScanned(TimeSpan now, Plant plant)
    {
        foreach (var drain in _draining)
        {
            var keg = plant.Kegs[drain.Station - 1]!;
            if (drain.Emptied is null && keg.Litres <= keg.HeldBack + 1e-9)
            {
                drain.Emptied = now;
            }

            if (plant.ReadsDry(sharedSensor ? 0 : drain.Station - 1))
            {
                drain.FirstDry ??= now;
                drain.Dry ??= now;
            }
            else
            {
                drain.Dry = null;
            }
        }
    }

    public void Paused(TimeSpan now) => Current!.Pauses.Add(new TruePause(now));

    public void Resumed(TimeSpan now)
    {
        if (Current is { Pauses: [.., { End: null } pause] })
        {
            pause.End = now;
            _step!.Paused += now - pause.Start;
        }
    }

    public void CycleEnded(TimeSpan now, TrueOutcome outcome, Plant plant)
    {
        var cycle = Current!;
        Current = null;
        cycle.End = now;
        cycle.Outcome = outcome;
        cycle.Health = TrueHealth.Of(plant);
        foreach (var truth in cycle.Kegs)
        {
            var keg = plant.Kegs[truth.Station - 1]!;
            truth.Oxygen = keg.OxygenFraction;
            truth.Litres = keg.Litres;
            truth.Delivered = keg.DeliveredLitres;
        }

        _finished.Enqueue(cycle);
        if (_finished.Count > capacity)
        {
            _finished.Dequeue();
            Dropped++;
        }

        CycleFinished?.Invoke(cycle);
    }
}
