using WashBridge.Core.Cycles;
using static WashBridge.Core.Cycles.StepKind;

namespace WashBridge.Simulator.Programmes;

/// <summary>Programmes of our own invention; times follow common practice (no source), shortened where a demonstration needs it.</summary>
public static class InventedProgrammes
{
    /// <summary>Rinse, caustic, rinse, acid, rinse, sanitise, evacuate, purge: about 170 s.</summary>
    public static WasherProgramme Full { get; } = new(1, "Full wash",
    [
        Wet("rinse", PhaseKind.Rinse, 8, 3),
        Wet("caustic-wash", PhaseKind.CausticWash, 12, 4),
        Wet("rinse-after-caustic", PhaseKind.Rinse, 8, 3),
        Wet("acid-wash", PhaseKind.AcidWash, 10, 4),
        Wet("rinse-after-acid", PhaseKind.Rinse, 8, 3),
        Sanitise(35),
        Evacuate,
        Purge(3),
    ]);

    /// <summary>The full programme with the acid wash, and so the rinse after it, switched off.</summary>
    public static WasherProgramme WithoutAcid { get; } = Full with
    {
        Number = 2,
        Title = "Wash without acid",
        Phases = [.. Full.Phases.Select(p => p with { Enabled = p.Id is not ("acid-wash" or "rinse-after-acid") })],
    };

    /// <summary>The full programme with two short passes of every rinse and of the caustic wash.</summary>
    public static WasherProgramme Repeated { get; } = Full with
    {
        Number = 3,
        Title = "Short repeated passes",
        Phases = [.. Full.Phases.Select(p => p.Kind switch
        {
            PhaseKind.Rinse => Wet(p.Id, p.Kind, 5, 2, 2),
            PhaseKind.CausticWash => Wet(p.Id, p.Kind, 7, 3, 3),
            _ => p,
        })],
    };

    /// <summary>For plants without acid: rinse, caustic in two passes, rinse, sanitise, evacuate, purge: about 150 s.</summary>
    public static WasherProgramme Plain { get; } = new(1, "Plain wash",
    [
        Wet("rinse", PhaseKind.Rinse, 8, 3),
        Wet("caustic-wash", PhaseKind.CausticWash, 8, 3, 2),
        Wet("rinse-after-caustic", PhaseKind.Rinse, 8, 3),
        Sanitise(35),
        Evacuate,
        Purge(3),
    ]);

    /// <summary>Heat in the place of a sanitiser: steam, then purge.</summary>
    public static WasherProgramme Steam { get; } = new(1, "Steam",
    [
        Wet("rinse", PhaseKind.Rinse, 8, 3),
        Wet("caustic-wash", PhaseKind.CausticWash, 12, 4),
        Wet("rinse-after-caustic", PhaseKind.Rinse, 8, 3),
        new("steam", PhaseKind.HeatSanitise, [StepSpecification.Of(Pressurise, 20), StepSpecification.Of(Hold, 40), StepSpecification.Of(Vent, 4), StepSpecification.Drain]),
        Purge(3),
    ]);

    private static PhaseSpecification Evacuate => new("evacuate", PhaseKind.Evacuate, [StepSpecification.Of(Pressurise, 3), StepSpecification.Drain]);

    private static PhaseSpecification Wet(string id, PhaseKind kind, double wallSeconds, double spearSeconds, int passes = 1) =>
        new(id, kind, [StepSpecification.Of(WallSpray, wallSeconds), StepSpecification.Of(SpearRinse, spearSeconds), StepSpecification.Drain], passes);

    private static PhaseSpecification Sanitise(double holdSeconds) => new("sanitise", PhaseKind.Sanitise,
        [StepSpecification.Of(WallSpray, 5), StepSpecification.Of(SpearRinse, 3), StepSpecification.Of(Hold, holdSeconds), StepSpecification.Drain]);

    private static PhaseSpecification Purge(int swings) => new("purge", PhaseKind.Purge,
        [StepSpecification.Of(Pressurise, 3), StepSpecification.Of(Vent, 3)], swings);
}
