using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;
using WashBridge.Simulator;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>What happens at every washer without anything being wrong: pauses, stops, lost connections, a time that is set for a while, a new recipe, planned work.</summary>
internal sealed class YearRoutine
{
    private readonly YearPlan _plan;
    private readonly SimulatedWasher _washer;
    private readonly YearDirector _director;
    private readonly Random _random;
    private readonly PriorityQueue<Action<TimeSpan>, int> _due = new();

    public YearRoutine(YearPlan plan, SimulatedWasher washer, YearDirector director)
    {
        _plan = plan;
        _washer = washer;
        _director = director;
        _random = new Random(plan.Seed + 900_000);
        for (var n = _random.Next(4); n > 0; n--)
        {
            PlanSetting(director.WarmUp + _random.Next(500, YearPlan.Cycles - 1_000));
        }

        if (_random.Next(2) == 0)
        {
            _due.Enqueue(NewRecipe, director.WarmUp + _random.Next(3_000, YearPlan.Cycles - 3_000));
        }

        for (var n = _random.Next(1, 4); n > 0; n--)
        {
            _due.Enqueue(PlannedWork, director.WarmUp + _random.Next(2_000, YearPlan.Cycles));
        }
    }

    /// <summary>After a true cycle, while the next is loaded.</summary>
    public void Work(TrueCycle cycle)
    {
        var now = cycle.End!.Value;
        while (_due.TryPeek(out var work, out var number) && number <= cycle.Number)
        {
            _due.Dequeue();
            work(now);
        }

        // At some time in the next cycle.
        var at = When.At(now + TimeSpan.FromSeconds(20 + (120 * _random.NextDouble())));
        switch (_random.Next(1_200))
        {
            case < 4:
                _washer.Schedule(new OperatorPause { When = at, Duration = TimeSpan.FromSeconds(4 + (56 * _random.NextDouble())) });
                break;
            case < 6:
                _washer.Schedule(new OperatorStop { When = at });
                break;
            case < 9:
                _washer.Schedule(new ConnectionLoss { When = at, Duration = TimeSpan.FromSeconds(Math.Pow(60, _random.NextDouble())) });
                break;
            default:
                break;
        }
    }

    /// <summary>Somebody sets a time that has nothing to do with liquid, and somebody sets it back.</summary>
    private void PlanSetting(int cycle)
    {
        var hold = _plan.Programme.Phases.Single(p => p.Id == "sanitise").Steps.Single(s => s.Kind == StepKind.Hold).Duration;
        var name = WasherProgramme.SetpointName("sanitise", StepKind.Hold);
        _due.Enqueue(now => Set(now, name, hold + TimeSpan.FromSeconds(_random.Next(2) == 0 ? -2 : 3)), cycle);
        _due.Enqueue(now => Set(now, name, hold), cycle + _random.Next(50, 400));
    }

    private void Set(TimeSpan now, string name, TimeSpan value)
    {
        _washer.Schedule(new SetpointEdited { When = When.At(now + TimeSpan.FromSeconds(4)), Setpoint = name, Value = value });
        Note(now, "setpoint", name, value.TotalSeconds);
    }

    /// <summary>Approved, and set at the controller at the same time. It changes what flows into the kegs, but not what is carried from bath to bath.</summary>
    private void NewRecipe(TimeSpan now)
    {
        var rinse = _plan.Programme.Phases[0];
        var spray = rinse.Steps.Single(s => s.Kind == StepKind.WallSpray).Duration;
        var purge = _plan.Programme.Phases[^1];
        var fill = purge.Steps.Single(s => s.Kind == StepKind.Pressurise).Duration;
        Set(now, WasherProgramme.SetpointName(rinse.Id, StepKind.WallSpray), spray + TimeSpan.FromSeconds(_random.Next(2) == 0 ? -2 : 2));
        Set(now, WasherProgramme.SetpointName(purge.Id, StepKind.Pressurise), fill + TimeSpan.FromSeconds(0.5));
        _director.Recipes.Add((_director.Cycle + 1, _director.Recipes.Count + 1));
        Note(now, "recipe", "standard", _director.Recipes.Count);
    }

    /// <summary>A part is replaced by the calendar, or only looked at.</summary>
    private void PlannedWork(TimeSpan now)
    {
        var station = 1 + _random.Next(_plan.Washer.Stations);
        var at = now + TimeSpan.FromSeconds(2);
        (Component Component, Fault Fault) part = _random.Next(4) switch
        {
            0 => (new Component(ComponentKind.DrainValve, "", station), new DrainCleaned { When = When.At(at), Station = station }),
            1 => (new Component(ComponentKind.DrainSensor, "", station), new DrainSensorReplaced { When = When.At(at), Station = station }),
            2 => (new Component(ComponentKind.SprayPump), new PumpReplaced { When = When.At(at) }),
            _ => (new Component(ComponentKind.DosingTube, "caustic"), new DosingTubeReplaced { When = When.At(at), Bath = BathKind.Caustic }),
        };
        var work = _random.Next(3) == 0 || _director.IsBusy(part.Component) ? MaintenanceKind.Inspected : MaintenanceKind.Replaced;
        if (work == MaintenanceKind.Replaced)
        {
            _washer.Schedule(part.Fault);
        }

        _director.Record(at, part.Component, work, hadFailed: false, "by the calendar");
        Note(now, work == MaintenanceKind.Replaced ? "replaced" : "inspected", part.Component.Key);
    }

    private void Note(TimeSpan now, string what, string subject, double? value = null) =>
        _director.Routine.Add(new RoutineWork(_director.Cycle, _director.WallOf(now), what, subject, value));
}
