using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Web.Live;

/// <summary>One washer at one moment, as a person at the line is told of it: the answers, not yet the words.</summary>
public sealed class Glance
{
    private readonly WasherNow _washer;
    private readonly Instant _now;
    private readonly Recipe? _recipe;

    internal Glance(WasherNow washer, IReadOnlyList<AlarmChanged> openAlarms, Instant now)
    {
        (_washer, _now) = (washer, now);
        State = washer.StateAt(now);
        _recipe = Live.Asks.RecipeOf(washer);
        Alarms = [.. openAlarms.Where(a => a.Washer == washer.Id)];
        Asks = State == WasherState.NotRead || _recipe is null ? [] : Live.Asks.Of(washer, _recipe, now);
        Silent = [.. washer.Silent(now)];
    }

    public WasherNow Washer => _washer;

    public WasherState State { get; }

    public string Key => State switch
    {
        WasherState.Washing => "washing",
        WasherState.Paused => "paused",
        WasherState.Fault => "fault",
        WasherState.NotRead => "not-read",
        _ => "idle",
    };

    /// <summary>The most urgent first.</summary>
    public IReadOnlyList<AlarmChanged> Alarms { get; }

    public IReadOnlyList<Ask> Asks { get; }

    /// <summary>Which recipe applies cannot be told, because the controller tells no programme.</summary>
    public bool IsRecipeUnknown => _recipe is null;

    public IReadOnlyList<GroupNow> Silent { get; }

    /// <summary>Time in the phase.</summary>
    public DurationBounds? InPhase => _washer.PhaseStart is { } start ? _washer.Since(start, _now) : null;

    public DurationBounds? InCycle => _washer.Cycle is { } cycle ? _washer.Since(cycle.Edge, _now) : null;

    public DurationBounds? InPause => _washer.PausedSince is { } since ? _washer.Since(since, _now) : null;

    /// <summary>How long no cycle has run; null: one runs, or none was seen to end.</summary>
    public DurationBounds? AtRest => _washer is { Cycle: null, LastCycle: { } last } ? _washer.Since(last.End, _now) : null;

    /// <summary>From 1, and of how many: the place of the phase in the programme.</summary>
    public (int Number, int Of)? Place
    {
        get
        {
            var programme = _washer.Configuration.Model.Programme;
            for (var i = 0; i < programme.Count; i++)
            {
                if (programme[i].Id == _washer.Step?.Phase)
                {
                    return (i + 1, programme.Count);
                }
            }

            return null;
        }
    }

    /// <summary>Null: nothing was read for as long as is looked back. Never below 0, though a clock that was set back could make it so.</summary>
    public TimeSpan? Age => _washer.LastRead is { } read ? (_now > read ? _now - read : TimeSpan.Zero) : null;

    /// <summary>What the recipe allows a drain of this phase; null: it does not say.</summary>
    public TimeSpan? DrainLimit(DrainRecord drain) => _recipe?.Requirements.OfType<DrainLimit>().Where(r => r.Phases.Count == 0 || r.Phases.Contains(drain.Phase)).Select(r => (TimeSpan?)r.AtMost).Min();

    /// <summary>Why a keg is not clear, the first reason of the kind that decided; null: all was met.</summary>
    public static RequirementResult? Reason(KegVerdict verdict) => verdict.Results.FirstOrDefault(r => r.Verdict == verdict.Verdict && r.Verdict != Verdict.Met);

    /// <summary>An alarm that says that a bath is losing strength, or that its limit is reached.</summary>
    public AlarmChanged? AlarmOf(BathNow bath) => Alarms.FirstOrDefault(a => a.Alarm == $"bath/{bath.Of}" && a.To is AlarmState.Unacknowledged or AlarmState.Acknowledged);
}
