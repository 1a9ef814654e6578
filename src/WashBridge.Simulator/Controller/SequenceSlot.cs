using WashBridge.Core.Cycles;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Programmes;

namespace WashBridge.Simulator.Controller;

/// <summary>One step of one pass of one phase, in the order in which the controller runs them.</summary>
internal sealed record SequenceSlot(int PhaseNumber, string Phase, PhaseKind PhaseKind, int Pass, StepKind Kind, int Code, string Setpoint, Outputs Outputs)
{
    /// <summary>Lays a programme out flat. Codes come from the place of phase and step in the washer's first programme.</summary>
    public static SequenceSlot[] Flatten(WasherOptions options, WasherProgramme programme, IReadOnlyDictionary<string, bool> switched)
    {
        var slots = new List<SequenceSlot>();
        foreach (var phase in programme.Phases)
        {
            if (!(switched.TryGetValue(phase.Id, out var enabled) ? enabled : phase.Enabled))
            {
                continue;
            }

            var number = 1 + options.Programmes[0].Phases.TakeWhile(p => p.Id != phase.Id).Count();
            for (var pass = 1; pass <= phase.Passes; pass++)
            {
                for (var step = 0; step < phase.Steps.Count; step++)
                {
                    var kind = phase.Steps[step].Kind;
                    slots.Add(new SequenceSlot(number, phase.Id, phase.Kind, pass, kind, Codes.Of(options, number, step + 1, pass), WasherProgramme.SetpointName(phase.Id, kind), OutputsOf(phase.Kind, kind)));
                }
            }
        }

        return [.. slots];
    }

    /// <summary>What a step switches on.</summary>
    public static Outputs OutputsOf(PhaseKind phase, StepKind step) => step switch
    {
        StepKind.WallSpray => Medium(phase) | Outputs.WallSpray | Outputs.Vent | Pump(phase),
        StepKind.SpearRinse => Medium(phase) | Outputs.SpearRinse | Outputs.Vent | Pump(phase),
        StepKind.Hold => phase == PhaseKind.HeatSanitise ? Outputs.None : Medium(phase), // the selector stays on the bath, the pump stands
        StepKind.Drain => Outputs.Drain | Assist(phase) | Return(phase),
        StepKind.Pressurise => phase switch
        {
            PhaseKind.HeatSanitise => Outputs.Steam,
            PhaseKind.Evacuate or PhaseKind.Purge => Outputs.Co2,
            _ => Outputs.Air,
        },
        StepKind.Vent => Outputs.Vent,
        _ => throw new ArgumentOutOfRangeException(nameof(step), step, null),
    };

    private static Outputs Medium(PhaseKind phase) => phase switch
    {
        PhaseKind.Rinse => Outputs.Water,
        PhaseKind.CausticWash => Outputs.Caustic,
        PhaseKind.AcidWash => Outputs.Acid,
        PhaseKind.Sanitise => Outputs.Sanitiser,
        _ => Outputs.None,
    };

    private static Outputs Pump(PhaseKind phase) => phase == PhaseKind.Rinse ? Outputs.None : Outputs.SprayPump;

    private static Outputs Assist(PhaseKind phase) => phase is PhaseKind.Evacuate or PhaseKind.Purge ? Outputs.None : Outputs.Air;

    private static Outputs Return(PhaseKind phase) => phase switch
    {
        PhaseKind.CausticWash => Outputs.ReturnCaustic,
        PhaseKind.AcidWash => Outputs.ReturnAcid,
        PhaseKind.Sanitise => Outputs.ReturnSanitiser,
        _ => Outputs.None,
    };
}

/// <summary>Step codes: ten times the phase's number plus the step's, and a thousand times the pass where the code tells it.</summary>
internal static class Codes
{
    public const int Idle = 0;
    public const int Paused = 8;
    public const int Fault = 9;

    public static int Of(WasherOptions options, int phase, int step, int pass) => (10 * phase) + step + (options.PassInCode ? 1000 * pass : 0);
}
