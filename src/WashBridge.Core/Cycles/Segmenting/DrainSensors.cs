using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>
/// Measures drains. A drain ends when its sensor reads dry; the last drops make a sensor waver, so the edge runs from the earliest moment at
/// which it can first have turned dry to the first look after which it was never again seen wet in the step. A sensor that was dry at every look had
/// turned dry at some time between the start of the step and the first look. A sensor that could not be read gives no record rather than a zero.
/// Sensors may be read more often than the position: what they show after the step was last seen to run may belong to the next, which wets them again.
/// So it counts only if it is the dry reading that was waited for.
/// </summary>
internal sealed class DrainSensors
{
    public const string Name = "drain.dry";

    private readonly SegmenterState _state;
    private readonly SignalState[] _sensors;
    private readonly int[] _withoutOwn;

    public DrainSensors(WasherModel model, SegmenterState state)
    {
        _state = state;
        _sensors = [.. state.Signals.Where(s => s.Name == Name)];
        _withoutOwn = [.. Enumerable.Range(1, model.Stations).Where(station => Array.TrueForAll(_sensors, s => s.Station != station))];
    }

    public void Begin(OpenStep step)
    {
        foreach (var sensor in _sensors)
        {
            step.Drains.Add(new DrainWatch { Station = sensor.Station });
            if (_state.GroupOf(sensor) is { } group)
            {
                group.IsLookDue = true;
            }
        }
    }

    /// <summary>The first look at each sensor that was surely taken within the step, should it be still due.</summary>
    public void Look(GroupState group, Moment readEarliest, Moment readLatest)
    {
        group.IsLookDue = false;
        if (_state.Cycle?.Step is not { } step)
        {
            return;
        }

        foreach (var watch in step.Drains)
        {
            var sensor = Sensor(watch);
            if (watch.WasLooked || sensor.Group != group.Number)
            {
                continue;
            }

            var listed = sensor.Ordinal == group.Ordinal + 1;
            var earliest = listed ? sensor.SeenEarliest : readEarliest;
            if (!sensor.IsGood || earliest.Epoch != step.Start.Latest.Epoch || earliest.Steady < step.Start.Latest.Steady)
            {
                group.IsLookDue = true;
                continue;
            }

            watch.WasLooked = true;
            if (sensor.IsSet)
            {
                TurnDry(watch, new Edge(step.Start.Earliest, listed ? sensor.SeenLatest : readLatest));
            }
        }
    }

    /// <summary>A sensor changed between <paramref name="edge"/>'s bounds.</summary>
    public void Change(SignalState sensor, Edge edge)
    {
        if (_state.Cycle?.Step is not { } step)
        {
            return;
        }

        foreach (var watch in step.Drains)
        {
            if (watch.Station != sensor.Station)
            {
                continue;
            }

            watch.WasLooked = true;
            watch.DrySince = null;
            if (sensor.IsSet)
            {
                TurnDry(watch, edge with { Earliest = NotBefore(edge.Earliest, step.Start.Earliest) });
            }
        }
    }

    /// <summary>
    /// The step goes on after a gap, in which nobody followed the sensors: they can have turned dry at once after the last look, and be wet again
    /// because it is the drain of another pass.
    /// </summary>
    public void CatchUp(Moment now)
    {
        foreach (var watch in _state.Cycle!.Step.Drains)
        {
            var sensor = Sensor(watch);
            watch.FirstDry ??= watch.WetSeen ?? _state.Cycle.Step.Start.Earliest;
            if (!sensor.IsSet)
            {
                watch.DrySince = null;
            }
            else if (watch.WasLooked && watch.DrySince is null)
            {
                TurnDry(watch, new Edge(watch.FirstDry.Value, now));
            }
        }
    }

    /// <summary>The step still ran at the reading by which the position was last seen: what the sensors showed before it belongs to the step.</summary>
    public void Confirm(GroupState reading)
    {
        foreach (var watch in _state.Cycle!.Step.Drains)
        {
            watch.SureDrySince = watch.DrySince;
            watch.NextDry = null;
            var sensor = Sensor(watch);
            if (!watch.WasLooked || sensor.IsSet || _state.GroupOf(sensor) is not { } group)
            {
                continue;
            }

            // Within one frame nothing tells whether position or sensor was read first; so the frame before is taken, to which the group's times still refer.
            if (group == reading || (group.ReadLatest.Epoch == _state.LastSeen.Epoch && group.ReadLatest.Steady <= _state.LastSeen.Steady))
            {
                var seen = _state.LastSeenEarliest(sensor);
                watch.WetSeen = seen.Epoch == sensor.Since.Epoch && seen.Steady >= sensor.Since.Steady ? seen : watch.WetSeen;
            }
        }
    }

    /// <summary>The drains of a step that has ended, by station.</summary>
    public IEnumerable<(int Station, DrainRecord Drain)> Finish(OpenStep step)
    {
        foreach (var watch in step.Drains)
        {
            if (!watch.WasLooked)
            {
                continue;
            }

            var shared = watch.Station == 0;
            var record = Record(step, watch, shared);
            foreach (var station in shared ? _withoutOwn : [watch.Station])
            {
                yield return (station, record);
            }
        }
    }

    private static DrainRecord Record(OpenStep step, DrainWatch watch, bool shared)
    {
        if (watch.FirstDry is { } first && (watch.SureDrySince ?? watch.NextDry) is { } since)
        {
            var dry = new Edge(first, since);
            return new DrainRecord(step.Phase, step.Pass, step.Start, dry, step.Start.Until(dry), shared);
        }

        // Wet at the last look: it took at least until it can first have turned dry, if it wavered, else until it was last seen wet.
        var until = watch.FirstDry ?? watch.WetSeen ?? step.Start.Latest;
        return new DrainRecord(step.Phase, step.Pass, step.Start, null, step.Start.Until(new Edge(until, until)) with { Upper = TimeSpan.MaxValue }, shared);
    }

    private static void TurnDry(DrainWatch watch, Edge edge)
    {
        watch.FirstDry ??= edge.Earliest;
        watch.DrySince = edge.Latest;
        watch.NextDry ??= edge.Latest;
    }

    private SignalState Sensor(DrainWatch watch) => Array.Find(_sensors, s => s.Station == watch.Station)!;

    private static Moment NotBefore(Moment moment, Moment limit) => moment.Epoch == limit.Epoch && moment.Steady < limit.Steady ? limit : moment;
}
