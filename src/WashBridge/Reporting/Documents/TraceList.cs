namespace WashBridge.Reporting.Documents;

/// <summary>Numbers the traces of a report as it is put together; the same source has one number.</summary>
internal sealed class TraceList
{
    private readonly List<Trace> _traces = [];

    public IReadOnlyList<Trace> All => _traces;

    public int Add(Trace trace)
    {
        var known = _traces.FindIndex(t => Describe(t) == Describe(trace));
        if (known >= 0)
        {
            return known + 1;
        }

        _traces.Add(trace with { Number = _traces.Count + 1 });
        return _traces.Count;
    }

    private static string Describe(Trace trace) => trace switch
    {
        EventTrace events => $"{events.Washer}|{events.CycleId}|{string.Join(',', events.Kinds)}|{events.From}|{events.Until}|{events.FirstSequence}|{events.LastSequence}|{events.Events}",
        SampleTrace samples => $"{string.Join(',', samples.Signals)}|{samples.From}|{samples.Until}|{samples.FirstSequence}|{samples.LastSequence}|{samples.Samples}",
        HourTrace hours => $"{hours.Signal}|{hours.From}|{hours.Until}|{hours.Hours}|{hours.Samples}",
        _ => throw new ArgumentOutOfRangeException(nameof(trace)),
    };
}
