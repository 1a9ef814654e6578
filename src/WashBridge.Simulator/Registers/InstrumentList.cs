using WashBridge.Core.Signals;
using WashBridge.Simulator.Controller;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Programmes;

namespace WashBridge.Simulator.Registers;

/// <summary>Which signals a washer has, by its options, in the order in which they get their addresses.</summary>
internal sealed class InstrumentList
{
    private readonly List<Instrument> _list = [];
    private readonly WasherOptions _options;
    private readonly Plant _plant;
    private readonly SequenceController _controller;
    private readonly Loader _loader;

    private InstrumentList(WasherOptions options, Plant plant, SequenceController controller, Loader loader)
    {
        _options = options;
        _plant = plant;
        _controller = controller;
        _loader = loader;
    }

    public static IReadOnlyList<Instrument> Of(WasherOptions options, Plant plant, SequenceController controller, Loader loader)
    {
        var list = new InstrumentList(options, plant, controller, loader);
        list.AddSequence();
        list.AddKegs();
        list.AddOutputs();
        list.AddMeasurements();
        list.AddCountersAndSetpoints();
        return list._list;
    }

    private void AddSequence()
    {
        Flag("sequence.running", () => _controller.Mode is ControllerMode.Running or ControllerMode.Paused);
        Flag("sequence.paused", () => _controller.Mode == ControllerMode.Paused);
        Flag("sequence.fault", () => _controller.Mode == ControllerMode.Fault);
        if (_options.Sequence == SequenceOutput.StepCode)
        {
            Number("sequence.step", 0, () => _controller.StepCode);
        }

        Number("sequence.programme", 0, () => _controller.Programme.Number);
        Number("sequence.cycle-count", 0, () => _controller.CycleCount);
    }

    private void AddKegs()
    {
        for (var i = 0; i < _options.Stations; i++)
        {
            var station = i;
            if (_options.KegPresent)
            {
                Flag("keg.present", () => _plant.Kegs[station] is not null, station + 1);
            }

            if (!_options.SharedDrainSensor)
            {
                Flag("drain.dry", () => _plant.ReadsDry(station), station + 1);
            }

            if (_options.KegIds)
            {
                _list.Add(new Instrument(Named("keg.id", station + 1), 2, () => double.NaN) { Text = () => _loader.KegId(station) });
            }
        }

        if (_options.SharedDrainSensor)
        {
            Flag("drain.dry", () => _plant.ReadsDry(0));
        }
    }

    private void AddOutputs()
    {
        var kinds = _options.Programmes[0].Phases.Select(p => p.Kind).ToHashSet();
        Output("valve.water", Outputs.Water);
        Output("valve.caustic", Outputs.Caustic, BathKind.Caustic);
        Output("valve.acid", Outputs.Acid, BathKind.Acid);
        Output("valve.sanitiser", Outputs.Sanitiser, BathKind.Sanitiser);
        if (kinds.Contains(Core.Cycles.PhaseKind.HeatSanitise))
        {
            Output("valve.steam", Outputs.Steam);
        }

        Output("valve.air", Outputs.Air);
        Output("valve.co2", Outputs.Co2);
        Output("valve.drain", Outputs.Drain);
        Output("valve.vent", Outputs.Vent);
        Output("valve.wall-spray", Outputs.WallSpray);
        Output("valve.spear-rinse", Outputs.SpearRinse);
        Output("pump.spray", Outputs.SprayPump);
        foreach (var bath in _plant.Baths)
        {
            Flag("dosing." + NameOf(bath.Kind), () => bath.DosingOn);
        }

        if (_plant.Bath(BathKind.Caustic) is { HasHeater: true } heated)
        {
            Flag("heater.caustic", () => heated.HeaterOn);
        }
    }

    private void AddMeasurements()
    {
        var full = _options.Instrumentation == Instrumentation.Full;
        foreach (var bath in _plant.Baths.Where(b => full || b.Kind == BathKind.Caustic))
        {
            Quantity("temperature." + NameOf(bath.Kind), () => bath.ProbeCel, 0.08, 0.1);
        }

        Quantity("pressure.water", () => _plant.WaterBar, 0.01, 0.01);
        if (!full)
        {
            return;
        }

        Quantity("temperature.water", () => _plant.WaterCel, 0.08, 0.1);
        foreach (var bath in _plant.Baths)
        {
            Quantity("conductivity." + NameOf(bath.Kind), () => bath.ProbeConductivity, 0.003 * bath.TargetConductivity, 0.1);
            Quantity("level." + NameOf(bath.Kind), () => bath.LevelPercent, 0.15, 0.1);
        }

        Quantity("pressure.spray", () => _plant.Pump.DeliveryBar, 0.01, 0.01);
        Quantity("pressure.co2", () => _plant.Co2Bar, 0.008, 0.01);
        Quantity("pressure.air", () => _plant.AirBar, 0.02, 0.01);
        Quantity("flow.supply", () => 60 * _plant.SupplyFlow, 0.08, 0.1);
        Quantity("current.spray-pump", () => _plant.Pump.MotorAmperes, 0.02, 0.01);
        for (var i = 0; i < _options.Stations; i++)
        {
            var station = i;
            Quantity("pressure.keg", () => _plant.KegBar(station), 0.004, 0.001, station + 1);
            Quantity("temperature.return", () => _plant.ReturnCel(station), 0.1, 0.1, station + 1);
            Quantity("conductivity.return", () => _plant.ReturnConductivity(station), 0.15, 0.1, station + 1);
        }
    }

    private void AddCountersAndSetpoints()
    {
        if (_options.Instrumentation == Instrumentation.Poor)
        {
            return;
        }

        Number("counter.drain-valve", 2, () => _controller.DrainValveCount);
        Number("counter.spray-pump-starts", 2, () => _plant.Pump.Starts);
        foreach (var name in _options.Programmes[0].Phases.SelectMany(p => p.Steps.Where(s => s.Kind != Core.Cycles.StepKind.Drain).Select(s => WasherProgramme.SetpointName(p.Id, s.Kind))).Distinct())
        {
            _list.Add(new Instrument(new Signal(_options.Id, 0, "setpoint." + name, "s", SignalType.Quantity), 2, () => _controller.Setpoints[name].TotalSeconds, 0, 0.1));
        }
    }

    private void Output(string name, Outputs bit, BathKind? bath = null)
    {
        if (bath is null || _plant.Bath(bath.Value) is not null)
        {
            Flag(name, () => (_controller.Outputs & bit) != 0);
        }
    }

    private void Flag(string name, Func<bool> read, int station = 0) => _list.Add(new Instrument(Named(name, station), 0, () => read() ? 1 : 0));

    private void Number(string name, int group, Func<long> read) => _list.Add(new Instrument(Named(name, 0), group, () => read()));

    private void Quantity(string name, Func<double> read, double noise, double resolution, int station = 0) =>
        _list.Add(new Instrument(Named(name, station), 1, read, noise * _options.Plant.Noise, resolution));

    private Signal Named(string name, int station)
    {
        var definition = SignalCatalogue.Find(name) ?? throw new InvalidOperationException($"{name} is not in the catalogue");
        return new Signal(_options.Id, station, name, definition.Unit, definition.Type);
    }

    private static string NameOf(BathKind kind) => kind switch
    {
        BathKind.Caustic => "caustic",
        BathKind.Acid => "acid",
        _ => "sanitiser",
    };
}
