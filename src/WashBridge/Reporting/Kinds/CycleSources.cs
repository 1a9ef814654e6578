using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>Which values a cycle's figures were made from: by the recipe's requirement where the site has it, else by the signals that the evidence names.</summary>
internal sealed class CycleSources
{
    private readonly ReportContext _context;
    private readonly CycleRecord _cycle;
    private readonly Recipe? _recipe;
    private readonly IReadOnlyList<LogEntry> _frames;
    private readonly Dictionary<Signal, int> _groups = [];

    public CycleSources(ReportContext context, CycleRecord cycle, Recipe? recipe)
    {
        (_context, _cycle, _recipe) = (context, cycle, recipe);
        var (from, until) = Whole(cycle);
        _frames = context.Historian.ReadFrameLog(cycle.Washer, from, until);
        foreach (var frame in _frames.Select(e => e.Frame!))
        {
            foreach (var sample in frame.Samples)
            {
                _groups.TryAdd(sample.Signal, frame.Group);
            }
        }
    }

    /// <summary>Values were still kept when this was read: they can have been dropped since, by the site's own choice.</summary>
    public bool HasFrames => _frames.Count > 0;

    /// <summary>Everything that told where in the programme the controller was.</summary>
    public IReadOnlyList<int> Sequence() => Trace(SequenceSignals(), Whole(_cycle), "phases and steps of the cycle");

    public IReadOnlyList<int> Of(RequirementResult result, int station)
    {
        var requirement = _recipe?.Requirements.FirstOrDefault(r => r.Id == result.Requirement);
        var span = Span(requirement);
        var names = requirement is null ? Named(result.Evidence) : Measured(requirement);
        return [.. Trace(SequenceSignals(), span, "phases and steps it is about"), .. Trace(names.SelectMany(n => Signals(n, station)).Distinct(), span, result.Requirement)];
    }

    public IReadOnlyList<int> OfDrains(int station) => Trace(Signals("drain.dry", station), Whole(_cycle), "drain times");

    public IReadOnlyList<int> OfSetpoints() => Trace(_groups.Keys.Where(s => s.Name.StartsWith("setpoint.", StringComparison.Ordinal)).OrderBy(s => s.Name, StringComparer.Ordinal), Whole(_cycle), "settings");

    /// <summary>From the earliest that it can have begun to the latest that it can have ended, by the wall clock.</summary>
    public static TimeBounds Whole(CycleRecord cycle) => Hull([cycle.Start, cycle.End]);

    /// <summary>How long a cycle took; one whose beginning nobody saw, at least so long.</summary>
    public static DurationBounds Took(CycleRecord cycle) => cycle.Start.Until(cycle.End) is var time && cycle.StartUnseen ? time with { Upper = TimeSpan.MaxValue } : time;

    /// <summary>The quantity that a requirement looks at, at a station; null where it looks at none.</summary>
    public (Signal Signal, IReadOnlyList<Sample> Samples)? Quantity(Requirement requirement, int station)
    {
        var name = Measured(requirement).FirstOrDefault();
        var signal = name is null ? null : Signals(name, station).FirstOrDefault(s => s.Type == SignalType.Quantity);
        var whole = Whole(_cycle);
        return signal is null ? null : (signal, _context.Historian.ReadSamples(signal, whole.Earliest, whole.Latest));
    }

    /// <summary>A source for each group of signals that are read together.</summary>
    private IReadOnlyList<int> Trace(IEnumerable<Signal> signals, TimeBounds span, string of) =>
        [.. signals.GroupBy(s => _groups.TryGetValue(s, out var group) ? group : (int?)null).Select(g => Trace([.. g], g.Key, span, of))];

    private int Trace(List<Signal> signals, int? group, TimeBounds span, string of)
    {
        var frames = _frames.Where(e => e.Frame!.Group == group && e.Frame.Kind != FrameKind.Clock && e.Frame.Read.Earliest >= span.Earliest && e.Frame.Read.Latest <= span.Latest).ToList();
        var failed = frames.Count(e => e.Frame!.Kind == FrameKind.Failed);
        return _context.Traces.Add(new SampleTrace([.. signals.Select(s => s.ToString())], signals.Count == 1 ? signals[0].Unit : "", frames.Count - failed, failed, frames.Sum(e => e.Frame!.Samples.Count(s => signals.Contains(s.Signal))))
        {
            Of = of,
            Washer = _cycle.Washer,
            From = span.Earliest,
            Until = span.Latest,
            FirstSequence = frames.Count > 0 ? frames[0].Sequence : null,
            LastSequence = frames.Count > 0 ? frames[^1].Sequence : null,
        });
    }

    private IEnumerable<Signal> SequenceSignals()
    {
        string[] told = ["sequence.step", "sequence.running", "sequence.paused", "sequence.fault"];
        var names = _context.Configuration(_cycle.Washer)?.Model.Sequence is StepRules rules ? [.. told, .. rules.Rules.SelectMany(r => r.When.Keys).Distinct()] : told;
        return _groups.Keys.Where(s => names.Contains(s.Name)).OrderBy(s => s.Name, StringComparer.Ordinal).ThenBy(s => s.Station);
    }

    /// <summary>The station's own, or the washer's where the station has none.</summary>
    private IEnumerable<Signal> Signals(string name, int station)
    {
        var own = _context.Historian.Signals.Where(s => s.Washer == _cycle.Washer && s.Name == name && (s.Station == station || s.Station == 0)).ToList();
        return own.Exists(s => s.Station > 0) ? own.Where(s => s.Station > 0) : own;
    }

    private IEnumerable<string> Named(string evidence) => _groups.Keys.Select(s => s.Name).Distinct().Where(n => !n.StartsWith("sequence.", StringComparison.Ordinal) && evidence.Contains(n, StringComparison.Ordinal));

    private static IEnumerable<string> Measured(Requirement requirement) => requirement switch
    {
        TimeBeyond beyond => [beyond.Signal],
        ThermalDose dose => [dose.Signal],
        ResidualOxygen => ["pressure.keg"],
        DrainLimit => ["drain.dry"],
        _ => [],
    };

    /// <summary>The phases that a requirement is about, or the whole cycle.</summary>
    private TimeBounds Span(Requirement? requirement)
    {
        IReadOnlyList<string> phases = requirement switch
        {
            ContactTime contact => [contact.From.Phase, contact.To.Phase],
            StepTime step => [step.Phase],
            TimeBeyond beyond => beyond.Phases,
            ThermalDose dose => dose.Phases,
            PassCount passes => [passes.Phase],
            SwingCount swings => [swings.Phase],
            ResidualOxygen oxygen => [oxygen.Phase],
            DrainLimit drains => drains.Phases,
            _ => [],
        };
        var found = _cycle.Phases.Where(p => phases.Contains(p.Id)).SelectMany(p => new[] { p.Start, p.End }).ToList();
        return found.Count > 0 ? Hull(found) : Whole(_cycle);
    }

    /// <summary>The wall clock may have been set back in between.</summary>
    private static TimeBounds Hull(IReadOnlyList<Edge> edges) => new(edges.Min(e => e.Earliest.Wall), edges.Max(e => e.Latest.Wall));
}
