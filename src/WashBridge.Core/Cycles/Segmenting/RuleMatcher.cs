namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>Finds the step that a combination of flags means.</summary>
internal sealed class RuleMatcher
{
    private readonly List<Look> _looks = [];

    /// <summary>Rules with the same conditions are one look; its first rule gives the step for each phase.</summary>
    public RuleMatcher(StepRules rules, ProgrammeOrder order, IReadOnlyList<SignalState> signals)
    {
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

    /// <param name="phase">Index of the phase that ran at the last reading; -1 if idle.</param>
    /// <param name="watched">No gap lies between the last reading and this one: then, and only then, the nearest of several phases is taken.</param>
    public Reading Match(int phase, bool watched)
    {
        foreach (var look in _looks)
        {
            if (look.Holds())
            {
                return look.Read(phase, watched);
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

        public Reading Read(int phase, bool watched)
        {
            if (_idle)
            {
                return new Reading(ReadingKind.Idle);
            }

            if (_steps.Count == 0 || (_steps.Count > 1 && !watched))
            {
                return default;
            }

            var nearest = 0;
            while (nearest < _steps.Count && _steps.GetKeyAtIndex(nearest) < phase)
            {
                nearest++;
            }

            nearest = nearest == _steps.Count ? 0 : nearest;
            return new Reading(ReadingKind.Step, _steps.GetKeyAtIndex(nearest), _steps.GetValueAtIndex(nearest));
        }
    }
}
