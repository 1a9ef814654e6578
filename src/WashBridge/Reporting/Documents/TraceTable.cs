namespace WashBridge.Reporting.Documents;

/// <summary>The traces of a report as tables, for people.</summary>
internal static class TraceTable
{
    public const string HowTo =
        "Each figure above names its sources by letter and number, such as T1. The historian's log numbers everything that it was told, without gaps in order and for good: reading the entries from the "
        + "first to the last one named here, of the washer and within the span, gives what the figure was made from. A poll that found a value unchanged counts as read and adds no recorded value; the value that held when a span "
        + "begins can have been recorded before it. Times of spans are in UTC.";

    public static string Name(int number) => $"T{number}";

    public static IEnumerable<Table> Of(IReadOnlyList<Trace> traces)
    {
        if (traces.OfType<SampleTrace>().ToList() is { Count: > 0 } samples)
        {
            yield return new Table("sources-read", ["source", "of", "signals", "unit", "from", "until", "first entry", "last entry", "polls read", "polls failed", "values recorded"],
                [.. samples.Select(t => Row(t, string.Join(", ", t.Signals), t.Unit, From(t), Until(t), First(t), Last(t), t.Polls, t.Failed, t.Samples))]);
        }

        if (traces.OfType<HourTrace>().ToList() is { Count: > 0 } hours)
        {
            yield return new Table("sources-hours", ["source", "of", "signal", "unit", "from", "until", "hours", "values recorded"],
                [.. hours.Select(t => Row(t, t.Signal, t.Unit, From(t), Until(t), t.Hours, t.Samples))]);
        }

        if (traces.OfType<EventTrace>().ToList() is { Count: > 0 } events)
        {
            yield return new Table("sources-events", ["source", "of", "washer", "kinds of event", "cycle", "from", "until", "first entry", "last entry", "events"],
                [.. events.Select(t => Row(t, t.Washer ?? "all", string.Join(", ", t.Kinds), t.CycleId ?? "any", From(t), Until(t), First(t), Last(t), t.Events))]);
        }
    }

    private static Cell[] Row(Trace trace, params Cell[] cells) => [Name(trace.Number), trace.Of, .. cells];

    private static Cell From(Trace trace) => trace.From is { } from ? from.ToString() : "the first";

    private static Cell Until(Trace trace) => trace.Until is { } until ? until.ToString() : "the last";

    private static Cell First(Trace trace) => trace.FirstSequence is { } first ? first : "none";

    private static Cell Last(Trace trace) => trace.LastSequence is { } last ? last : "none";
}
