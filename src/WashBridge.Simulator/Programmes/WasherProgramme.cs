using WashBridge.Core.Cycles;

namespace WashBridge.Simulator.Programmes;

/// <summary>One step of a programme. A drain ends when the drain sensors read dry; every other step by time.</summary>
/// <param name="Kind">What happens.</param>
/// <param name="Duration">How long, when the setpoint is as delivered; not used for drains.</param>
public sealed record StepSpecification(StepKind Kind, TimeSpan Duration)
{
    public static StepSpecification Drain { get; } = new(StepKind.Drain, TimeSpan.Zero);

    public static StepSpecification Of(StepKind kind, double seconds) => new(kind, TimeSpan.FromSeconds(seconds));
}

/// <summary>One phase of a programme.</summary>
/// <param name="Id">Unique in the programme.</param>
/// <param name="Kind">What it is for; decides the liquid or gas.</param>
/// <param name="Steps">The steps of one pass.</param>
/// <param name="Passes">How often they run, 1 to 20.</param>
/// <param name="Enabled">A disabled phase is passed over.</param>
public sealed record PhaseSpecification(string Id, PhaseKind Kind, IReadOnlyList<StepSpecification> Steps, int Passes = 1, bool Enabled = true)
{
    public PhaseDefinition Definition => new(Id, Kind, [.. Steps.Select(s => s.Kind)]);
}

/// <summary>What a washer can be told to run.</summary>
/// <param name="Number">The number that the controller shows, from 1.</param>
/// <param name="Title">For people.</param>
/// <param name="Phases">In the order in which they run.</param>
public sealed record WasherProgramme(int Number, string Title, IReadOnlyList<PhaseSpecification> Phases)
{
    /// <summary>The name under which a step's time is set at the controller, such as <c>sanitise.hold</c>.</summary>
    public static string SetpointName(string phase, StepKind step) => $"{phase}.{StepName(step)}";

    internal static string StepName(StepKind step) => step switch
    {
        StepKind.WallSpray => "wall-spray",
        StepKind.SpearRinse => "spear-rinse",
        StepKind.Hold => "hold",
        StepKind.Drain => "drain",
        StepKind.Pressurise => "pressurise",
        StepKind.Vent => "vent",
        _ => throw new ArgumentOutOfRangeException(nameof(step), step, null),
    };
}
