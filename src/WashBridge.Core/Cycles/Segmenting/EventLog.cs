using System.Globalization;
using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>
/// Collects the events of one frame and names them. Ids follow from the recording alone: cycle id, then the place in the programme, then what
/// happened; outside cycles washer, wall time to the microsecond and what happened.
/// </summary>
internal sealed class EventLog(string washer)
{
    private List<WashEvent>? _events;

    public IReadOnlyList<WashEvent> Take()
    {
        IReadOnlyList<WashEvent> taken = _events is null ? [] : _events;
        _events = null;
        return taken;
    }

    public string CycleId(Moment start) => string.Create(CultureInfo.InvariantCulture, $"{washer}-{start.Wall.ToDateTimeOffset():yyyyMMdd'T'HHmmss.fff}");

    public void CycleStarted(OpenCycle cycle) => Add(new CycleStarted
    {
        Id = cycle.Id + "/started",
        Washer = washer,
        At = At(cycle.Start),
        CycleId = cycle.Id,
        Edge = cycle.Start,
        StartUnseen = cycle.StartUnseen,
    });

    public void StepStarted(OpenCycle cycle) => Add(new StepStarted
    {
        Id = $"{cycle.Id}/{Path(cycle, cycle.Step.Phase, cycle.Step.Pass, cycle.Step.Kind)}/started",
        Washer = washer,
        At = At(cycle.Step.Start),
        CycleId = cycle.Id,
        Phase = cycle.Step.Phase,
        PhaseKind = cycle.Step.PhaseKind,
        Pass = cycle.Step.Pass,
        Step = cycle.Step.Kind,
        Edge = cycle.Step.Start,
    });

    /// <summary>To be called before the step is put with the cycle's finished steps.</summary>
    public void StepEnded(OpenCycle cycle, FinishedStep step) => Add(new StepEnded
    {
        Id = $"{cycle.Id}/{Path(cycle, step.Phase, step.Pass, step.Step.Kind)}/ended",
        Washer = washer,
        At = At(step.Step.End),
        CycleId = cycle.Id,
        Phase = step.Phase,
        PhaseKind = step.PhaseKind,
        Pass = step.Pass,
        Step = step.Step,
    });

    public void DrainMeasured(OpenCycle cycle, int station, DrainRecord drain, Edge end) => Add(new DrainMeasured
    {
        Id = $"{cycle.Id}/{Path(cycle, drain.Phase, drain.Pass, StepKind.Drain)}/station-{station}",
        Washer = washer,
        At = At(drain.Dry ?? end),
        CycleId = cycle.Id,
        Station = station,
        Drain = drain,
    });

    public void CyclePaused(OpenCycle cycle, Edge edge) => Add(new CyclePaused
    {
        Id = $"{cycle.Id}/pause-{cycle.Pauses.Count + 1}/started",
        Washer = washer,
        At = At(edge),
        CycleId = cycle.Id,
        Edge = edge,
    });

    /// <summary>To be called before the pause is put with the cycle's pauses.</summary>
    public void CycleResumed(OpenCycle cycle, Pause pause) => Add(new CycleResumed
    {
        Id = $"{cycle.Id}/pause-{cycle.Pauses.Count + 1}/ended",
        Washer = washer,
        At = At(pause.End),
        CycleId = cycle.Id,
        Pause = pause,
    });

    public void CycleEnded(CycleRecord cycle) => Add(new CycleEnded
    {
        Id = cycle.Id + "/ended",
        Washer = washer,
        At = At(cycle.End),
        CycleId = cycle.Id,
        Cycle = cycle,
    });

    public void SetpointChanged(string? cycle, string name, string unit, double before, double after, Edge edge) => Add(new SetpointChanged
    {
        Id = $"{Stamp(edge.Latest)}/{name}",
        Washer = washer,
        At = At(edge),
        CycleId = cycle,
        Setpoint = name,
        Unit = unit,
        OldValue = before,
        NewValue = after,
    });

    public void SourceLost(string? cycle, int group, string reason, Edge edge) => Add(new SourceLost
    {
        Id = $"{Stamp(edge.Latest)}/group-{group}/lost",
        Washer = washer,
        At = At(edge),
        CycleId = cycle,
        Group = group,
        Reason = reason,
    });

    public void SourceRestored(string? cycle, int group, Edge edge, TimeBounds gap) => Add(new SourceRestored
    {
        Id = $"{Stamp(edge.Latest)}/group-{group}/restored",
        Washer = washer,
        At = At(edge),
        CycleId = cycle,
        Group = group,
        Gap = gap,
    });

    public void ClockStepped(string? cycle, TimeBounds read, TimeSpan? shift, string reason) => Add(new ClockStepped
    {
        Id = $"{Stamp(new Moment(read.Latest, default, 0))}/clock",
        Washer = washer,
        At = read,
        CycleId = cycle,
        Shift = shift,
        Reason = reason,
    });

    /// <summary>Wall times for people and for queries. Where the clock was set back in between they are put in order.</summary>
    public static TimeBounds At(Edge edge) => new(Instant.Min(edge.Earliest.Wall, edge.Latest.Wall), Instant.Max(edge.Earliest.Wall, edge.Latest.Wall));

    private void Add(WashEvent washEvent) => (_events ??= []).Add(washEvent);

    private string Stamp(Moment at) => string.Create(CultureInfo.InvariantCulture, $"{washer}-{at.Wall.ToDateTimeOffset():yyyyMMdd'T'HHmmss.ffffff}");

    /// <summary>A step that comes again in the same pass gets a number.</summary>
    private static string Path(OpenCycle cycle, string phase, int pass, StepKind step)
    {
        var times = 1 + cycle.Steps.Count(s => s.Pass == pass && s.Step.Kind == step && s.Phase == phase);
        var name = Name(step);
        return times == 1 ? $"{phase}/{pass}/{name}" : $"{phase}/{pass}/{name}-{times}";
    }

    private static string Name(StepKind step) => step switch
    {
        StepKind.WallSpray => "wall-spray",
        StepKind.SpearRinse => "spear-rinse",
        StepKind.Hold => "hold",
        StepKind.Drain => "drain",
        StepKind.Pressurise => "pressurise",
        StepKind.Vent => "vent",
        _ => throw new ArgumentOutOfRangeException(nameof(step), step, "not a step"),
    };
}
