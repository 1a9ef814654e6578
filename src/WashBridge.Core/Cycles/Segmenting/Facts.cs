namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>Programme, counter and setpoints of a cycle: as they stood at its start, or when they were first read if that was later.</summary>
internal static class Facts
{
    public const string ProgrammeName = "sequence.programme";
    public const string CountName = "sequence.cycle-count";
    public const string SetpointPrefix = "setpoint.";

    public static void Take(SegmenterState state, OpenCycle cycle)
    {
        foreach (var signal in state.Signals)
        {
            if (signal.HasValue)
            {
                Take(signal, cycle);
            }
        }
    }

    public static void Take(SignalState signal, OpenCycle cycle)
    {
        if (signal.Station != 0 || signal.Number is not { } number)
        {
            return;
        }

        if (signal.Name == ProgrammeName)
        {
            cycle.Programme ??= (int)Math.Clamp(number, int.MinValue, int.MaxValue);
        }
        else if (signal.Name == CountName)
        {
            cycle.CycleCount ??= (long)Math.Clamp(number, long.MinValue, long.MaxValue);
        }
        else if (signal.Name.StartsWith(SetpointPrefix, StringComparison.Ordinal))
        {
            cycle.Setpoints.TryAdd(signal.Name, number);
        }
    }
}
