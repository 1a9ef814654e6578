using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>Puts the record of a cycle together.</summary>
internal static class CycleRecords
{
    public static CycleRecord Make(string washer, OpenCycle cycle, Edge end, CycleOutcome outcome) => new()
    {
        Id = cycle.Id,
        Washer = washer,
        Start = cycle.Start,
        End = end,
        Outcome = outcome,
        StartUnseen = cycle.StartUnseen,
        Programme = cycle.Programme,
        CycleCount = cycle.CycleCount,
        Phases = Phases(cycle.Steps),
        Stations = [.. cycle.Stations.Select(s => new StationRecord
        {
            Station = s.Station,
            KegPresent = s.KegPresent ?? (s.KegTag is null ? null : true),
            KegTag = s.KegTag,
            Drains = s.Drains,
        })],
        Gaps = cycle.Gaps,
        Pauses = cycle.Pauses,
        Setpoints = cycle.Setpoints,
    };

    private static List<PhaseRecord> Phases(List<FinishedStep> steps)
    {
        var phases = new List<PhaseRecord>();
        for (var from = 0; from < steps.Count;)
        {
            var until = from;
            while (until < steps.Count && steps[until].Phase == steps[from].Phase)
            {
                until++;
            }

            var start = steps[from].Step.Start;
            var end = steps[until - 1].Step.End;
            phases.Add(new PhaseRecord(steps[from].Phase, steps[from].PhaseKind, start, end, start.Until(end), Passes(steps[from..until])));
            from = until;
        }

        return phases;
    }

    private static List<PassRecord> Passes(List<FinishedStep> steps) =>
        [.. steps.GroupBy(s => s.Pass).Select(pass => new PassRecord(pass.Key, [.. pass.Select(s => s.Step)]))];
}
