using System.Collections.Immutable;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Web.Live;

/// <summary>
/// Folds the log of one washer into how it stands now. It has no clock and does no I/O: what it shows depends on what it was given, not on when or how often
/// somebody looks. What it remembers is bounded by the configuration.
/// </summary>
internal sealed class WasherFold
{
    /// <summary>Steps of one cycle that are remembered; a programme that repeats for ever must not fill the memory.</summary>
    private const int MostSteps = 500;

    private static readonly ImmutableArray<(PhaseKind Phase, string Bath)> BathOf = [(PhaseKind.CausticWash, "caustic"), (PhaseKind.AcidWash, "acid"), (PhaseKind.Sanitise, "sanitiser")];

    private readonly WasherConfiguration _configuration;
    private readonly IReadOnlySet<int> _faultCodes;
    private readonly Dictionary<string, Action<Sample>> _interest = new(StringComparer.Ordinal);
    private readonly Dictionary<int, int> _groups;
    private WasherNow _now;
    private bool? _faultFlag;
    private bool? _faultCode;

    public WasherFold(WasherConfiguration configuration)
    {
        _configuration = configuration;
        _faultCodes = configuration.Model.Sequence is StepTable table ? table.FaultCodes : new HashSet<int>();
        _groups = configuration.Groups.Select((g, at) => (g.Number, at)).ToDictionary();
        var id = configuration.Model.Washer;
        _now = new WasherNow
        {
            Id = id,
            Title = configuration.Title.Length > 0 ? configuration.Title : id,
            Configuration = configuration,
            Stations = [.. Enumerable.Range(1, configuration.Model.Stations).Select(n => new StationNow(n))],
            Baths = [.. Baths(configuration).Select(b => new BathNow(b))],
            Groups = [.. configuration.Groups.Select(g => new GroupNow(g.Number, g.Name, g.Every))],
        };
        Watch();
    }

    /// <summary>As it stands. A value: what is taken later does not change it.</summary>
    public WasherNow Now => _now;

    public void Take(Frame frame)
    {
        if (frame.Kind == FrameKind.Clock || !_groups.TryGetValue(frame.Group, out var at))
        {
            return;
        }

        var group = _now.Groups[at];
        if (frame.Kind == FrameKind.Failed)
        {
            Set(at, group with { LostSince = group.LostSince ?? frame.Read.Latest, LostReason = group.LostReason ?? frame.Reason });
            return;
        }

        // The log's order counts, not the clock's: it can have been set back.
        Set(at, group with { LastRead = frame.Read.Latest, LastSeen = frame.Read.Earliest, LostSince = null, LostReason = null });
        foreach (var sample in frame.Samples)
        {
            if (_interest.TryGetValue(sample.Signal.Name, out var take))
            {
                take(sample);
            }
        }
    }

    public void Take(WashEvent washEvent)
    {
        switch (washEvent)
        {
            case CycleStarted started:
                Fasten(started.Edge);
                _now = Begun(_now) with { Cycle = started };
                break;
            case StepStarted step:
                Fasten(step.Edge);
                Take(step);
                break;
            case StepEnded ended:
                Fasten(ended.Step.End);
                _now = _now with { Over = Add(_now.Over, ended) };
                break;
            case CyclePaused paused:
                Fasten(paused.Edge);
                _now = _now with { PausedSince = paused.Edge };
                break;
            case CycleResumed resumed:
                Fasten(resumed.Pause.End);
                _now = _now with { PausedSince = null, PausedInStep = _now.PausedInStep + resumed.Pause.Duration };
                break;
            case CycleEnded ended:
                Fasten(ended.Cycle.End);
                Take(ended.Cycle);
                break;
            case ClockStepped stepped:
                _now = _now with { Line = (_now.Line ?? default).After(new ClockShift(stepped.Shift)) };
                break;
            case SourceLost lost when _groups.TryGetValue(lost.Group, out var at) && (_now.Groups[at].LastRead is not { } read || read <= lost.At.Latest):
                Set(at, _now.Groups[at] with { LostSince = _now.Groups[at].LostSince ?? lost.At.Latest, LostReason = lost.Reason });
                break;
            case SourceRestored restored when _groups.TryGetValue(restored.Group, out var at):
                Set(at, _now.Groups[at] with { LostSince = null, LostReason = null });
                break;
            default:
                TakeOfParts(washEvent);
                break;
        }
    }

    /// <summary>What was counted before this fold began.</summary>
    public void Changed(string bath, Instant at, int cyclesSince) => OfBath(bath, b => b with { ChangedAt = at, CyclesSinceChange = cyclesSince });

    private static IEnumerable<string> Baths(WasherConfiguration configuration) => BathOf
        .Where(b => configuration.Model.Programme.Any(p => p.Kind == b.Phase) || configuration.Model.Signals.Any(s => s is { Station: 0 } && s.Name.EndsWith("." + b.Bath, StringComparison.Ordinal) && IsOfBath(s.Name)))
        .Select(b => b.Bath);

    private static bool IsOfBath(string name) => name.Split('.')[0] is "conductivity" or "temperature" or "level";

    private static WasherNow Begun(WasherNow before) => before with { Cycle = null, Step = null, PhaseStart = null, IsPhaseStartUnseen = false, Begun = [], Over = [], PausedSince = null, PausedInStep = default };

    private static ImmutableArray<T> Add<T>(ImmutableArray<T> list, T item) => list.Length < MostSteps ? list.Add(item) : list.RemoveAt(0).Add(item);

    private void TakeOfParts(WashEvent washEvent)
    {
        switch (washEvent)
        {
            case KegScanned scanned:
                OfStation(scanned.Station, s => s with { Scanned = scanned });
                break;
            case KegJudged judged:
                OfStation(judged.Verdict.Station, s => s with { Last = judged, Scanned = s.Scanned is { } scan && scan.At.Latest > judged.At.Latest ? scan : null });
                break;
            case DrainMeasured drain:
                OfStation(drain.Station, s => s.Drain is { } slowest && slowest.CycleId == drain.CycleId && slowest.Drain.Time.Lower >= drain.Drain.Time.Lower ? s : s with { Drain = drain });
                break;
            case MaintenanceRecorded { Component.Kind: ComponentKind.Bath, Work: MaintenanceKind.Replaced } changed:
                Changed(changed.Component.Of, changed.At.Latest, 0);
                break;
            case BathChanged changed:
                Changed(changed.Bath, changed.At.Latest, 0);
                break;
            case TitrationRecorded titration:
                OfBath(titration.Bath, b => b with { Titration = titration });
                break;
            case ForecastMade { Forecast.Component.Kind: ComponentKind.Bath } made:
                OfBath(made.Forecast.Component.Of, b => b with { Forecast = made.Forecast });
                break;
            default:
                break;
        }
    }

    private void Take(StepStarted step)
    {
        var before = _now.Step;
        var isSamePhase = before is not null && before.Phase == step.Phase && before.CycleId == step.CycleId;
        _now = _now with
        {
            Step = step,
            PhaseStart = isSamePhase ? _now.PhaseStart : step.Edge,
            IsPhaseStartUnseen = isSamePhase ? _now.IsPhaseStartUnseen : before is null && _now.Cycle is not { StartUnseen: false },
            Begun = Add(_now.Begun, step),
            PausedInStep = default,
        };
    }

    private void Take(CycleRecord cycle)
    {
        var took = cycle.Start.Until(cycle.End);
        _now = Begun(_now) with
        {
            LastCycle = cycle,
            UsualLength = cycle is { Outcome: CycleOutcome.Completed, StartUnseen: false } && took.IsUpperKnown ? took : _now.UsualLength,
            Baths = [.. _now.Baths.Select(b => b.CyclesSinceChange is { } count ? b with { CyclesSinceChange = count + 1 } : b)],
        };
    }

    /// <summary>Every known edge tells where the wall clock lies on the steady line.</summary>
    private void Fasten(Edge edge)
    {
        if (edge.Latest.IsKnown)
        {
            _now = _now with { Line = new Timeline(edge.Latest.Wall.UnixMicroseconds - edge.Latest.Steady.UnixMicroseconds, edge.Latest.Epoch) };
        }
    }

    private void Watch()
    {
        _interest["sequence.fault"] = s => SetFault(flag: s.Quality == Quality.Good ? s.Value.IsSet : null, code: _faultCode);
        _interest["sequence.programme"] = s => _now = _now with { Programme = s.Quality == Quality.Good && double.IsFinite(s.Value.Number) ? (int)s.Value.Number : null };
        _interest["keg.id"] = s => OfStation(s.Signal.Station, n => n with { Tag = s.Quality == Quality.Good && !string.IsNullOrWhiteSpace(s.Value.Text) ? s.Value.Text : null });
        _interest["keg.present"] = s => OfStation(s.Signal.Station, n => n with { HasKeg = s.Quality == Quality.Good ? s.Value.IsSet : null });
        if (_faultCodes.Count > 0)
        {
            _interest["sequence.step"] = s => SetFault(_faultFlag, code: s.Quality == Quality.Good && double.IsFinite(s.Value.Number) ? _faultCodes.Contains((int)s.Value.Number) : null);
        }

        foreach (var signal in _configuration.Model.Signals.Where(s => s is { Station: 0, Type: SignalType.Quantity } && IsOfBath(s.Name)))
        {
            var parts = signal.Name.Split('.', 2);
            _interest[signal.Name] = s => OfBath(parts[1], b => b with { Readings = With(b.Readings, new BathReading(parts[0], s.Quality == Quality.Good && double.IsFinite(s.Value.Number) ? s.Value.Number : null, s.Signal.Unit)) });
        }
    }

    private static ImmutableArray<BathReading> With(ImmutableArray<BathReading> readings, BathReading reading)
    {
        for (var i = 0; i < readings.Length; i++)
        {
            if (readings[i].Quantity == reading.Quantity)
            {
                return readings.SetItem(i, reading);
            }
        }

        return readings.Add(reading);
    }

    private void SetFault(bool? flag, bool? code)
    {
        (_faultFlag, _faultCode) = (flag, code);
        _now = _now with { HasFault = flag is null ? code : code is null ? flag : flag | code };
    }

    private void Set(int at, GroupNow group) => _now = _now with { Groups = _now.Groups.SetItem(at, group) };

    private void OfStation(int number, Func<StationNow, StationNow> change)
    {
        if (number >= 1 && number <= _now.Stations.Length)
        {
            _now = _now with { Stations = _now.Stations.SetItem(number - 1, change(_now.Stations[number - 1])) };
        }
    }

    private void OfBath(string name, Func<BathNow, BathNow> change)
    {
        for (var i = 0; i < _now.Baths.Length; i++)
        {
            if (_now.Baths[i].Of == name)
            {
                _now = _now with { Baths = _now.Baths.SetItem(i, change(_now.Baths[i])) };
            }
        }
    }
}
