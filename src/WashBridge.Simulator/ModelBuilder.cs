using WashBridge.Core.Cycles;
using WashBridge.Simulator.Controller;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Registers;

namespace WashBridge.Simulator;

/// <summary>What the configuration of a simulated washer would come to: programme and step table, or rules over valve and pump bits.</summary>
internal static class ModelBuilder
{
    public static WasherModel Build(WasherOptions options, IReadOnlyList<MappedRegister> map)
    {
        var phases = options.Programmes[0].Phases;
        return new WasherModel
        {
            Washer = options.Id,
            Stations = options.Stations,
            Programme = [.. phases.Select(p => p.Definition)],
            Sequence = options.Sequence == SequenceOutput.StepCode ? Table(options) : new StepRules(Rules(phases)),
            Signals = [.. map.Select(m => m.Signal)],
            DrainTimeout = options.DrainTimeout,
        };
    }

    private static StepTable Table(WasherOptions options)
    {
        var codes = new Dictionary<int, ProgrammePosition>();
        var phases = options.Programmes[0].Phases;
        for (var phase = 0; phase < phases.Count; phase++)
        {
            var passes = options.PassInCode ? options.Programmes.SelectMany(p => p.Phases).Where(p => p.Id == phases[phase].Id).Max(p => p.Passes) : 1;
            for (var pass = 1; pass <= passes; pass++)
            {
                for (var step = 0; step < phases[phase].Steps.Count; step++)
                {
                    codes[Codes.Of(options, phase + 1, step + 1, pass)] =
                        new ProgrammePosition(phases[phase].Id, phases[phase].Steps[step].Kind, options.PassInCode ? pass : null);
                }
            }
        }

        return new StepTable(codes, new HashSet<int> { Codes.Idle }, options.PausedCode ? new HashSet<int> { Codes.Paused } : new HashSet<int>(), new HashSet<int> { Codes.Fault });
    }

    private static List<StepRule> Rules(IReadOnlyList<PhaseSpecification> phases)
    {
        var rules = new List<StepRule> { new([], StepKind.Hold, new Dictionary<string, bool> { ["sequence.running"] = false }) };

        void Add(StepKind step, Func<PhaseKind, bool> kinds, params (string Flag, bool Set)[] when)
        {
            var ids = phases.Where(p => kinds(p.Kind) && p.Steps.Any(s => s.Kind == step)).Select(p => p.Id).ToList();
            if (ids.Count > 0)
            {
                rules.Add(new StepRule(ids, step, when.ToDictionary(w => w.Flag, w => w.Set)));
            }
        }

        foreach (var (kind, valve) in new[] { (PhaseKind.Rinse, "valve.water"), (PhaseKind.CausticWash, "valve.caustic"), (PhaseKind.AcidWash, "valve.acid"), (PhaseKind.Sanitise, "valve.sanitiser") })
        {
            Add(StepKind.WallSpray, k => k == kind, (valve, true), ("valve.wall-spray", true));
            Add(StepKind.SpearRinse, k => k == kind, (valve, true), ("valve.spear-rinse", true));
            Add(StepKind.Hold, k => k == kind, (valve, true), ("valve.wall-spray", false), ("valve.spear-rinse", false));
        }

        static bool Dry(PhaseKind kind) => kind is PhaseKind.Evacuate or PhaseKind.Purge;
        Add(StepKind.Drain, k => !Dry(k), ("valve.drain", true), ("valve.air", true));
        Add(StepKind.Drain, Dry, ("valve.drain", true), ("valve.air", false));
        Add(StepKind.Pressurise, Dry, ("valve.co2", true));
        Add(StepKind.Pressurise, k => k == PhaseKind.HeatSanitise, ("valve.steam", true));
        Add(StepKind.Vent, _ => true, ("valve.vent", true), ("valve.wall-spray", false), ("valve.spear-rinse", false));
        Add(StepKind.Hold, k => k == PhaseKind.HeatSanitise, ("valve.steam", false), ("valve.vent", false), ("valve.drain", false), ("valve.co2", false), ("valve.water", false), ("valve.caustic", false));
        return rules;
    }
}
