using System.Collections.Frozen;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>From the values of the sequence signals to a reading. Remembers nothing: values live in the state.</summary>
internal sealed class SequenceReader
{
    public const string StepName = "sequence.step";
    private static readonly string[] FlagNames = ["sequence.running", "sequence.paused", "sequence.fault"];

    private readonly ProgrammeOrder _order;
    private readonly List<SignalState> _needed;
    private readonly SignalState? _step;
    private readonly SignalState? _running;
    private readonly SignalState? _paused;
    private readonly SignalState? _fault;
    private readonly StepTable? _table;
    private readonly FrozenDictionary<int, ProgrammePosition>? _codes;
    private readonly RuleMatcher? _rules;

    public SequenceReader(WasherModel model, ProgrammeOrder order, IReadOnlyList<SignalState> signals)
    {
        _order = order;
        var names = NamesNeeded(model);
        _needed = [.. signals.Where(s => names.Contains(s.Name))];
        _step = _needed.Find(s => s.Name == StepName);
        _running = _needed.Find(s => s.Name == FlagNames[0]);
        _paused = _needed.Find(s => s.Name == FlagNames[1]);
        _fault = _needed.Find(s => s.Name == FlagNames[2]);
        switch (model.Sequence)
        {
            case StepTable table:
                _table = table;
                _codes = table.Codes.ToFrozenDictionary();
                break;
            case StepRules rules:
                _rules = new RuleMatcher(rules, order, _needed);
                break;
            default:
                throw new ArgumentException($"washer {model.Washer}: {model.Sequence.GetType().Name} is no way to tell the position", nameof(model));
        }
    }

    /// <summary>The signals without which nothing is known of the position.</summary>
    public static IReadOnlySet<string> NamesNeeded(WasherModel model)
    {
        var names = new HashSet<string>(FlagNames, StringComparer.Ordinal);
        if (model.Sequence is StepRules rules)
        {
            names.UnionWith(rules.Rules.SelectMany(r => r.When.Keys));
        }
        else
        {
            names.Add(StepName);
        }

        return names;
    }

    /// <param name="at">Where the programme was at the last reading; null if idle.</param>
    /// <param name="watched">No gap lies between the last reading and this one.</param>
    public Reading Read(Place? at, bool watched)
    {
        foreach (var signal in _needed)
        {
            if (!signal.IsGood)
            {
                return default;
            }
        }

        var fault = _fault is { IsSet: true };
        var reading = _table is not null ? FromTable(_table, fault) : FromRules(at, watched, fault);
        return fault ? reading with { Fault = true } : reading;
    }

    private Reading FromTable(StepTable table, bool fault)
    {
        if (_step?.Number is not { } number || number != Math.Truncate(number) || Math.Abs(number) > int.MaxValue)
        {
            return default;
        }

        var code = (int)number;
        if (table.FaultCodes.Contains(code))
        {
            return new Reading(ReadingKind.Idle, Fault: true);
        }

        if (table.IdleCodes.Contains(code))
        {
            return new Reading(ReadingKind.Idle);
        }

        var paused = _paused is { IsSet: true };
        if (table.PausedCodes.Contains(code))
        {
            return new Reading(ReadingKind.Hidden, Paused: true);
        }

        if (_running is { IsSet: false } && !paused)
        {
            return new Reading(ReadingKind.Idle);
        }

        return _codes!.TryGetValue(code, out var position) && _order.IndexOf(position.Phase) is var phase and >= 0
            ? new Reading(ReadingKind.Step, phase, position.Step, position.Pass, paused)
            : paused ? new Reading(ReadingKind.Hidden, Paused: true)
            : new Reading(fault ? ReadingKind.Idle : ReadingKind.Unknown);
    }

    /// <summary>While paused the valves are shut, which looks like other steps: only the place before it counts.</summary>
    private Reading FromRules(Place? at, bool watched, bool fault)
    {
        if (_paused is { IsSet: true })
        {
            return new Reading(ReadingKind.Hidden, Paused: true);
        }

        if (_running is { IsSet: false })
        {
            return new Reading(ReadingKind.Idle);
        }

        var reading = _rules!.Match(at, watched);
        return reading.Kind == ReadingKind.Unknown && fault ? new Reading(ReadingKind.Idle) : reading;
    }
}
