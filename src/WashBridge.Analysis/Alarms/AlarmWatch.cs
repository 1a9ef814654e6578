using System.Text.Json;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;

namespace WashBridge.Analysis.Alarms;

/// <summary>
/// Turns what the other watches find, what the segmenter tells of the connection, verdicts and people's orders into alarms. It comes last among a
/// washer's watches. One fault, one alarm: figures of one family at one station share theirs; a drift that
/// belongs to a component whose own alarm holds is suppressed by design, and so is a component's whose forecast names as its first cause another
/// one whose alarm holds (a valve's, where its sensor sticks); what is merely unlike its peers, or drifts to the good side, is a finding for
/// the report and no alarm, because nobody would have to do anything.
/// </summary>
public sealed class AlarmWatch : IWatch
{
    private const string NotReadable = "not-readable";
    private const string KegsNotMet = "kegs-not-met";
    private const string DriftPrefix = "drift/";
    private const string SetpointPrefix = "setpoint/";
    private const string NotReadableReason = "the washer cannot be read";

    /// <summary>A forecast must have come back by this share of the warning before its alarm ends, and for so many cycles.</summary>
    private const double ForecastDeadBand = 0.2;
    private static readonly AlarmDelay ForecastOffDelay = new(Cycles: 10);

    /// <summary>A connection that comes and goes gives one alarm.</summary>
    private static readonly AlarmDelay ReadableOffDelay = new(Time: TimeSpan.FromSeconds(10));

    private readonly AnalysisSettings _settings;
    private readonly AlarmBook _book = new();
    private readonly SortedDictionary<int, string> _lost = [];
    private readonly SortedDictionary<int, NotMetRun> _runs = [];

    /// <summary>By alarm: the figures that drift to their bad side.</summary>
    private readonly SortedDictionary<string, SortedSet<string>> _drifts = new(StringComparer.Ordinal);

    /// <summary>By component: the other one that the first cause of its forecast is of.</summary>
    private readonly SortedDictionary<string, string> _owners = new(StringComparer.Ordinal);

    public AlarmWatch(AnalysisSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        _settings = settings;
    }

    public string Name => "alarms";

    public IReadOnlyList<WashEvent> Accept(WashEvent washEvent)
    {
        ArgumentNullException.ThrowIfNull(washEvent);
        var wasReadable = !_book.Holds(NotReadable);
        var components = HoldingComponents();
        var passed = _book.Pass(washEvent, washEvent is CycleMeasured);
        var taken = Take(washEvent);
        var changes = passed.Count == 0 && taken.Count == 0 ? [] : new List<WashEvent>([.. passed, .. taken]);
        if (changes.Count > 0)
        {
            FollowComponents(washEvent, components, changes);
            FollowConnection(washEvent, wasReadable, changes);
        }

        if (changes.Count > 0 || washEvent is ForecastMade)
        {
            FollowOwners(washEvent, changes);
        }

        return changes;
    }

    public string Snapshot() => JsonSerializer.Serialize(new AlarmWatchState(_book.Save(), new(_lost), [.. _runs.Values], new(_drifts, StringComparer.Ordinal), new(_owners, StringComparer.Ordinal)), AlarmJson.Default.AlarmWatchState);

    public void Restore(string snapshot)
    {
        var state = JsonSerializer.Deserialize(snapshot, AlarmJson.Default.AlarmWatchState) ?? throw new JsonException("the snapshot of alarms cannot be null");
        _book.Load(state.Book);
        _lost.Clear();
        _runs.Clear();
        foreach (var (group, reason) in state.Lost)
        {
            _lost[group] = reason;
        }

        foreach (var run in state.Runs)
        {
            _runs[run.Station] = run;
        }

        _drifts.Clear();
        foreach (var (alarm, drifts) in state.Drifts)
        {
            _drifts[alarm] = new SortedSet<string>(drifts, StringComparer.Ordinal);
        }

        _owners.Clear();
        foreach (var (component, owner) in state.Owners ?? throw new JsonException("the snapshot of alarms tells nothing of causes"))
        {
            _owners[component] = owner;
        }
    }

    private IReadOnlyList<WashEvent> Take(WashEvent washEvent) => washEvent switch
    {
        AlarmOrdered e => _book.Order(e),
        ForecastMade e => Take(e),
        DriftFound e => Take(e),
        DriftEnded e => Take(e, e.Feature),
        SetpointDeviated e => Take(e),
        SetpointConformed e => _book.End(e, SetpointPrefix + e.Setpoint),
        MaintenanceRecorded { Work: not MaintenanceKind.Inspected } e => Take(e),
        KegJudged e => Take(e),
        SourceLost e => Lose(e),
        SourceRestored e => Regain(e),
        _ => [],
    };

    private IReadOnlyList<WashEvent> Take(ForecastMade made)
    {
        var (forecast, alarm) = (made.Forecast, made.Forecast.Component.Key);
        var limit = new AlarmLimit(_settings.Alarms.WarnBefore, Worse.Lower, _settings.Alarms.WarnBefore * ForecastDeadBand);
        var holds = forecast.State switch
        {
            ForecastState.Reached => true,
            ForecastState.Approaching => limit.Holds(forecast.CyclesLeft ?? double.PositiveInfinity, _book.IsTold(alarm)) && forecast.CyclesLeft is not null,
            _ => false,
        };

        // What was urgent does not become less so while it holds: else an index that hovers about its limit would be told anew again and again.
        var before = _book.Holds(alarm) ? _book.PriorityOf(alarm) ?? AlarmPriority.Low : AlarmPriority.Low;
        var priority = AlarmPriorities.Of(forecast);
        var released = NameOwner(made, alarm, CauseOwner.OtherThan(forecast));
        var changes = _book.Report(made, new AlarmReport
        {
            Alarm = alarm,
            Holds = holds,
            Priority = priority > before ? priority : before,
            Text = AlarmTexts.Forecast(made.Washer, forecast),
            OffDelay = ForecastOffDelay,
            SuppressedBecause = !_book.Holds(alarm) && OwnerInCharge(alarm) is { } owner ? Told(owner) : null,
        });
        return released.Count > 0 ? [.. released, .. changes] : changes;
    }

    /// <summary>The alarm of the part ends, and those whose forecast named it as the cause: if it was not, they are told anew.</summary>
    private List<WashEvent> Take(MaintenanceRecorded made)
    {
        var part = made.Component.Key;
        var changes = new List<WashEvent>();
        foreach (var led in _owners.Where(o => o.Value == part).Select(o => o.Key).ToList())
        {
            changes.AddRange(_book.End(made, led));
            changes.AddRange(NameOwner(made, led, null));
        }

        return [.. _book.End(made, part), .. NameOwner(made, part, null), .. changes];
    }

    /// <summary>The first cause of a component's forecast is another component's now; null: its own.</summary>
    private IReadOnlyList<WashEvent> NameOwner(WashEvent cause, string alarm, string? owner)
    {
        var was = _owners.GetValueOrDefault(alarm);
        if (owner is null)
        {
            _owners.Remove(alarm);
        }
        else
        {
            _owners[alarm] = owner;
        }

        return was is not null && was != owner ? _book.EndSuppression(cause, alarm, Told(was)) : [];
    }

    /// <summary>Whose alarm tells of what a component's forecast tells; null: no other's holds, or two name one another.</summary>
    private string? OwnerInCharge(string alarm) =>
        _owners.TryGetValue(alarm, out var owner) && _book.Holds(owner) && _owners.GetValueOrDefault(owner) != alarm ? owner : null;

    /// <summary>Figures of one family at one station drift together: they are one alarm, which ends with the last of them.</summary>
    private IReadOnlyList<WashEvent> Take(DriftFound found)
    {
        if (!AlarmPriorities.IsAlarm(found.Finding))
        {
            return Take(found, found.Finding.Feature);
        }

        var alarm = DriftAlarm(found.Finding.Feature);
        var drifts = _drifts.TryGetValue(alarm, out var known) ? known : _drifts[alarm] = new SortedSet<string>(StringComparer.Ordinal);
        drifts.Add(found.Finding.Feature);
        var before = _book.Holds(alarm) ? _book.PriorityOf(alarm) ?? AlarmPriority.Low : AlarmPriority.Low;
        var priority = AlarmPriorities.Of(found.Finding);
        return _book.Report(found, new AlarmReport
        {
            Alarm = alarm,
            Holds = true,
            Priority = priority > before ? priority : before,
            Text = AlarmTexts.Drift(found.Washer, found.Finding),
            Since = _book.Holds(alarm) ? null : found.Finding.Onset.At,
            SuppressedBecause = HoldingComponents().Find(c => FeatureOwner.Owns(Component.Parse(c), found.Finding.Feature)) is { } owner ? Told(owner) : null,
        });
    }

    /// <summary>A figure no longer drifts, or no longer to its bad side.</summary>
    private IReadOnlyList<WashEvent> Take(WashEvent cause, string feature)
    {
        var alarm = DriftAlarm(feature);
        if (!_drifts.TryGetValue(alarm, out var drifts) || !drifts.Remove(feature) || drifts.Count > 0)
        {
            return [];
        }

        _drifts.Remove(alarm);
        return _book.End(cause, alarm);
    }

    private IReadOnlyList<WashEvent> Take(SetpointDeviated deviated) => _book.Report(deviated, new AlarmReport
    {
        Alarm = SetpointPrefix + deviated.Finding.Setpoint,
        Holds = true,
        Priority = AlarmPriorities.Of(deviated.Finding),
        Text = AlarmTexts.Setpoint(deviated.Washer, deviated.Finding),
    });

    /// <summary>A keg that is not proven tells neither way.</summary>
    private IReadOnlyList<WashEvent> Take(KegJudged judged)
    {
        var verdict = judged.Verdict;
        if (verdict.Verdict == Verdict.NotProven)
        {
            return [];
        }

        var run = _runs.GetValueOrDefault(verdict.Station) ?? new NotMetRun(verdict.Station, 0, []);
        _runs[verdict.Station] = verdict.Verdict == Verdict.Met
            ? run with { Length = 0, Requirements = [] }
            : run with { Length = run.Length + 1, Requirements = [.. verdict.Results.Where(r => r.Verdict == Verdict.NotMet).Select(r => r.Requirement)] };
        var runs = _runs.Values.Where(r => r.Length >= _settings.Alarms.NotMetInARow).ToList();
        return _book.Report(judged, new AlarmReport
        {
            Alarm = KegsNotMet,
            Holds = runs.Count > 0,
            Priority = AlarmPriority.High,
            Text = AlarmTexts.KegsNotMet(judged.Washer, [.. runs.Select(r => r.Station)], _settings.Alarms.NotMetInARow, [.. runs.SelectMany(r => r.Requirements).Distinct().Order(StringComparer.Ordinal)]),
        });
    }

    private IReadOnlyList<WashEvent> Lose(SourceLost lost)
    {
        _lost[lost.Group] = lost.Reason;
        return Readable(lost);
    }

    private IReadOnlyList<WashEvent> Regain(SourceRestored restored)
    {
        _lost.Remove(restored.Group);
        return Readable(restored);
    }

    private IReadOnlyList<WashEvent> Readable(WashEvent cause) => _book.Report(cause, new AlarmReport
    {
        Alarm = NotReadable,
        Holds = _lost.Count > 0,
        Priority = AlarmPriority.Medium,
        Text = AlarmTexts.NotReadable(cause.Washer, _lost.Values.FirstOrDefault() ?? ""),
        OnDelay = new AlarmDelay(Time: _settings.Alarms.NotReadableAfter),
        OffDelay = ReadableOffDelay,
        IsMeasured = false,
    });

    private void FollowComponents(WashEvent cause, List<string> before, List<WashEvent> changes)
    {
        var now = HoldingComponents();
        foreach (var component in now.Except(before))
        {
            foreach (var drift in DriftsOf(component))
            {
                changes.AddRange(_book.Suppress(cause, drift, Told(component)));
            }
        }

        foreach (var component in before.Except(now))
        {
            foreach (var drift in DriftsOf(component))
            {
                changes.AddRange(_book.EndSuppression(cause, drift, Told(component)));
            }
        }
    }

    private void FollowOwners(WashEvent cause, List<WashEvent> changes)
    {
        foreach (var (alarm, owner) in _owners)
        {
            changes.AddRange(OwnerInCharge(alarm) is not null ? _book.Suppress(cause, alarm, Told(owner)) : _book.EndSuppression(cause, alarm, Told(owner)));
        }
    }

    private void FollowConnection(WashEvent cause, bool wasReadable, List<WashEvent> changes)
    {
        var isReadable = !_book.Holds(NotReadable);
        if (wasReadable && !isReadable)
        {
            _book.SuppressNew(NotReadableReason);
        }
        else if (!wasReadable && isReadable)
        {
            changes.AddRange(_book.EndSuppressNew(cause));
        }
    }

    private List<string> HoldingComponents() => [.. _book.Holding.Where(IsComponent)];

    private IEnumerable<string> DriftsOf(string component)
    {
        var parsed = Component.Parse(component);
        return _book.Known.Where(k => k.StartsWith(DriftPrefix, StringComparison.Ordinal) && FeatureOwner.Owns(parsed, k[DriftPrefix.Length..]));
    }

    private static bool IsComponent(string alarm) =>
        alarm is not (NotReadable or KegsNotMet) && !alarm.StartsWith(DriftPrefix, StringComparison.Ordinal) && !alarm.StartsWith(SetpointPrefix, StringComparison.Ordinal);

    private static string DriftAlarm(string feature) => DriftPrefix + FeatureOwner.Group(feature);

    private static string Told(string component) => $"told by the alarm {component}";
}

/// <summary>Kegs in a row at a station that did not meet their recipe.</summary>
/// <param name="Requirements">What the last one did not meet.</param>
internal sealed record NotMetRun(int Station, int Length, IReadOnlyList<string> Requirements);

internal sealed record AlarmWatchState(AlarmBookState Book, SortedDictionary<int, string> Lost, IReadOnlyList<NotMetRun> Runs, SortedDictionary<string, SortedSet<string>> Drifts, SortedDictionary<string, string>? Owners);
