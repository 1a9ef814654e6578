namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>Finds the step that a combination of flags means.</summary>
internal sealed class RuleMatcher
{
    private readonly ProgrammeOrder _order;
    private readonly List<Look> _looks = [];

    /// <summary>Rules with the same conditions are one look; its first rule gives the step for each phase.</summary>
    public RuleMatcher(StepRules rules, ProgrammeOrder order, IReadOnlyList<SignalState> signals)
    {
        _order = order;
        foreach (var rule in rules.Rules)
        {
            var look = _looks.Find(l => l.IsSame(rule.When));
            if (look is null)
            {
                look = new Look([.. rule.When.Select(w => new Condition(w.Key, w.Value, [.. signals.Where(s => s.Name == w.Key)]))]);
                _looks.Add(look);
            }

            look.Add(rule, order);
        }
    }

    /// <param name="at">Where the programme was at the last reading; null if idle.</param>
    /// <param name="watched">No gap lies between the last reading and this one: then, and only then, the nearest of several phases is taken.</param>
    public Reading Match(Place? at, bool watched)
    {
        foreach (var look in _looks)
        {
            if (look.Holds())
            {
                return look.Read(_order, at, watched);
            }
        }

        return default;
    }

    /// <summary>A flag and the value it must have. A flag of several stations is set when any station's is.</summary>
    private sealed record Condition(string Name, bool Value, SignalState[] Signals)
    {
        public bool Holds()
        {
            foreach (var signal in Signals)
            {
                if (signal.IsSet)
                {
                    return Value;
                }
            }

            return !Value && Signals.Length > 0;
        }
    }

    private sealed class Look(Condition[] conditions)
    {
        private readonly SortedList<int, StepKind> _steps = [];
        private bool _idle;

        public bool IsSame(IReadOnlyDictionary<string, bool> when) =>
            when.Count == conditions.Length && conditions.All(c => when.TryGetValue(c.Name, out var value) && value == c.Value);

        public void Add(StepRule rule, ProgrammeOrder order)
        {
            _idle |= rule.Phases.Count == 0 && _steps.Count == 0;
            foreach (var phase in rule.Phases.Select(order.IndexOf).Where(p => p >= 0))
            {
                _steps.TryAdd(phase, rule.Step);
            }
        }

        public bool Holds()
        {
            foreach (var condition in conditions)
            {
                if (!condition.Holds())
                {
                    return false;
                }
            }

            return true;
        }

        public Reading Read(ProgrammeOrder order, Place? at, bool watched)
        {
            if (_idle)
            {
                return new Reading(ReadingKind.Idle);
            }

            if (_steps.Count == 0 || (_steps.Count > 1 && !watched))
            {
                return new Reading(_steps.Count == 0 ? ReadingKind.Unknown : ReadingKind.Unplaced);
            }

            var phase = at is { } place ? Nearest(order, place) : _steps.GetKeyAtIndex(0);
            return new Reading(ReadingKind.Step, phase, _steps[phase]);
        }

        /// <summary>
        /// Ahead in the phase that runs, or the next phase; then another pass of the phase that runs, which is nearer than a phase
        /// further on; if none is ahead, the first of the programme.
        /// </summary>
        private int Nearest(ProgrammeOrder order, Place at)
        {
            var isHere = _steps.TryGetValue(at.Phase, out var step);
            if (isHere && order.IsAhead(at, step))
            {
                return at.Phase;
            }

            if (_steps.ContainsKey(at.Phase + 1))
            {
                return at.Phase + 1;
            }

            return isHere ? at.Phase : _steps.Keys.FirstOrDefault(p => p > at.Phase, _steps.GetKeyAtIndex(0));
        }
    }
}
