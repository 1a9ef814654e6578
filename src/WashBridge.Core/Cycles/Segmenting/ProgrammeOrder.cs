namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>A place in the programme.</summary>
/// <param name="Phase">Index of the phase.</param>
/// <param name="Pass">From 1.</param>
/// <param name="Index">Index of the step in the phase.</param>
/// <param name="Step">The step.</param>
internal readonly record struct Place(int Phase, int Pass, int Index, StepKind Step);

/// <summary>What comes before what in a washer's programme.</summary>
internal sealed class ProgrammeOrder(IReadOnlyList<PhaseDefinition> programme)
{
    /// <summary>No programme repeats a phase more often; more is a wrong reading and is not filled in.</summary>
    private const int MostPasses = 100;

    private readonly Dictionary<string, int> _index = programme.Select((p, i) => (p.Id, i)).ToDictionary(p => p.Id, p => p.i, StringComparer.Ordinal);

    public PhaseDefinition this[int phase] => programme[phase];

    /// <summary>-1 for a phase that is not in the programme.</summary>
    public int IndexOf(string phase) => _index.GetValueOrDefault(phase, -1);

    public bool IsLastPhase(OpenStep step) => IndexOf(step.Phase) == programme.Count - 1;

    public bool IsLast(OpenStep step) => IsLastPhase(step) && step.Index >= programme[^1].Steps.Count - 1;

    /// <summary>Whether a step is the one at a place or comes later in its phase.</summary>
    public bool IsAhead(Place at, StepKind step) => step == at.Step || Find(at.Phase, step, at.Index + 1) >= 0;

    /// <summary>
    /// Where a reading lies, coming from <paramref name="from"/>: a step that comes later in the same phase belongs to the same pass, one
    /// that comes earlier or again to the next. Null: it lies before <paramref name="from"/>, so that another cycle must have begun.
    /// </summary>
    public Place? Locate(Reading reading, Place? from)
    {
        if (from is not { } at || at.Phase < reading.Phase)
        {
            return new Place(reading.Phase, reading.Pass ?? 1, Math.Max(0, Find(reading.Phase, reading.Step, 0)), reading.Step);
        }

        if (at.Phase > reading.Phase || reading.Pass < at.Pass)
        {
            return null;
        }

        if (reading.Step == at.Step && (reading.Pass ?? at.Pass) == at.Pass)
        {
            return at;
        }

        var later = Find(at.Phase, reading.Step, at.Index + 1);
        var first = Find(at.Phase, reading.Step, 0);
        return reading.Pass is { } pass
            ? new Place(at.Phase, pass, pass == at.Pass && later >= 0 ? later : Math.Max(0, first), reading.Step)
            : later >= 0 ? new Place(at.Phase, at.Pass, later, reading.Step)
            : first >= 0 ? new Place(at.Phase, at.Pass + 1, first, reading.Step)
            : at with { Step = reading.Step };
    }

    /// <summary>
    /// The steps that the programme demands between two places. A phase of which nothing was seen is taken to be disabled, unless the sequence
    /// could not be read for longer than the gap limit: then it can have run unseen (no phase is shorter than the gap limit).
    /// </summary>
    /// <param name="from">Null: idle.</param>
    /// <param name="to">Null: idle.</param>
    /// <param name="gap">Whether a gap lies between.</param>
    public IEnumerable<Place> Between(Place? from, Place? to, bool gap)
    {
        if (from is { Phase: < 0 })
        {
            return [];
        }

        if (from is { } a && to is { } b && a.Phase == b.Phase)
        {
            return a.Pass >= b.Pass
                ? Steps(a.Phase, a.Pass, a.Index + 1, b.Index)
                : [.. Steps(a.Phase, a.Pass, a.Index + 1), .. Passes(a.Phase, a.Pass + 1, b.Pass), .. Steps(b.Phase, b.Pass, 0, b.Index)];
        }

        IEnumerable<Place> rest = from is { } left ? Steps(left.Phase, left.Pass, left.Index + 1) : [];
        var until = to?.Phase ?? programme.Count;
        var first = from?.Phase + 1 ?? 0;
        var hidden = gap ? Enumerable.Range(first, Math.Max(0, until - first)).SelectMany(p => Steps(p, 1, 0)) : [];
        IEnumerable<Place> before = to is { } entered ? [.. Passes(entered.Phase, 1, entered.Pass), .. Steps(entered.Phase, entered.Pass, 0, entered.Index)] : [];
        return [.. rest, .. hidden, .. before];
    }

    private IEnumerable<Place> Passes(int phase, int from, int until) =>
        Enumerable.Range(from, Math.Clamp(until - from, 0, MostPasses)).SelectMany(pass => Steps(phase, pass, 0));

    private IEnumerable<Place> Steps(int phase, int pass, int from, int until = int.MaxValue)
    {
        for (var i = from; i < Math.Min(until, programme[phase].Steps.Count); i++)
        {
            yield return new Place(phase, pass, i, programme[phase].Steps[i]);
        }
    }

    private int Find(int phase, StepKind step, int from)
    {
        var steps = programme[phase].Steps;
        for (var i = from; i < steps.Count; i++)
        {
            if (steps[i] == step)
            {
                return i;
            }
        }

        return -1;
    }
}
