using System.Collections.Immutable;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Web.Live;

/// <summary>What a glance at a washer must tell first.</summary>
public enum WasherState
{
    /// <summary>No cycle runs.</summary>
    Idle = 0,
    Washing = 1,
    Paused = 2,

    /// <summary>The controller says that the programme stopped with a fault.</summary>
    Fault = 3,

    /// <summary>The signals that tell the place in the programme cannot be read: all else is what was known last.</summary>
    NotRead = 4,
}

/// <summary>One washer as it stood at a place in the log. Does not change any more.</summary>
public sealed record WasherNow
{
    /// <summary>A group that is silent for longer, or for three of its own intervals, is not read, whatever the reason.</summary>
    private static readonly TimeSpan LongestSilence = TimeSpan.FromSeconds(10);

    public required string Id { get; init; }

    public required string Title { get; init; }

    internal WasherConfiguration Configuration { get; init; } = null!;

    public required ImmutableArray<StationNow> Stations { get; init; }

    public required ImmutableArray<BathNow> Baths { get; init; }

    /// <summary>By number, from 0. Group 0 holds the sequence signals.</summary>
    public required ImmutableArray<GroupNow> Groups { get; init; }

    /// <summary>Null: none runs, as far as anybody saw.</summary>
    public CycleStarted? Cycle { get; init; }

    /// <summary>The step that runs; null between cycles.</summary>
    public StepStarted? Step { get; init; }

    /// <summary>When the phase of <see cref="Step"/> began.</summary>
    public Edge? PhaseStart { get; init; }

    /// <summary>The first step seen after watching began anew was running already: how long the phase had run by then is not known.</summary>
    public bool IsPhaseStartUnseen { get; init; }

    /// <summary>Steps of <see cref="Cycle"/> in the order in which they began.</summary>
    public ImmutableArray<StepStarted> Begun { get; init; } = [];

    /// <summary>Steps of <see cref="Cycle"/> that are over.</summary>
    public ImmutableArray<StepEnded> Over { get; init; } = [];

    /// <summary>Pauses of the step that runs, those that are over.</summary>
    public DurationBounds PausedInStep { get; init; }

    /// <summary>Since when the programme is paused; null: it is not.</summary>
    public Edge? PausedSince { get; init; }

    /// <summary>The last cycle that ended; null: none was seen for as long as is looked back.</summary>
    public CycleRecord? LastCycle { get; init; }

    /// <summary>How long the last complete cycle took.</summary>
    public DurationBounds? UsualLength { get; init; }

    /// <summary>The controller's fault flag or code stands. Null: nothing tells.</summary>
    public bool? HasFault { get; init; }

    /// <summary>The number that the controller shows; null: it tells none.</summary>
    public int? Programme { get; init; }

    /// <summary>Where wall times lie on the line that no clock step disturbs; null: nothing was seen yet.</summary>
    public Timeline? Line { get; init; }

    /// <summary>When anything was read last; null: never.</summary>
    public Instant? LastRead => Groups.Any(g => g.LastRead is not null) ? Groups.Where(g => g.LastRead is not null).Max(g => g.LastRead!.Value) : null;

    /// <summary>Groups that cannot be read now, the sequence's first.</summary>
    public IEnumerable<GroupNow> Silent(Instant now) => Groups.Where(g => IsSilent(g, now));

    public WasherState StateAt(Instant now) => this switch
    {
        _ when Groups.Length == 0 || IsSilent(Groups[0], now) => WasherState.NotRead,
        { PausedSince: not null } => WasherState.Paused,
        { HasFault: true, Cycle: null } => WasherState.Fault,
        { Cycle: not null } => WasherState.Washing,
        _ => WasherState.Idle,
    };

    /// <summary>
    /// How long ago an edge was. The shorter bound ends with the last read that showed that it goes on, the longer one now; a clock step of unknown size
    /// leaves a side open.
    /// </summary>
    public DurationBounds Since(Edge start, Instant now)
    {
        if (Line is not { } line)
        {
            return DurationBounds.Unknown;
        }

        var seen = Groups.Length > 0 && Groups[0].LastSeen is { } read ? line.Place(Instant.Min(read, now)) : start.Latest;
        return start.Until(new Edge(seen, line.Place(now)));
    }

    /// <summary>How long the step that runs has run, pauses left out.</summary>
    public DurationBounds InStep(Instant now)
    {
        if (Step is not { } step)
        {
            return DurationBounds.Unknown;
        }

        var all = Since(step.Edge, now);
        var paused = PausedSince is { } pause ? PausedInStep + Since(pause, now) : PausedInStep;
        return new DurationBounds(Less(all.Lower, paused.Upper), all.IsUpperKnown ? Less(all.Upper, paused.Lower) : TimeSpan.MaxValue);
    }

    private static TimeSpan Less(TimeSpan all, TimeSpan part) => part < all ? all - part : TimeSpan.Zero;

    private static bool IsSilent(GroupNow group, Instant now)
    {
        var most = group.Every * 3 > LongestSilence ? group.Every * 3 : LongestSilence;
        return group.LostSince is not null || group.LastRead is not { } read || now - read > most;
    }
}

/// <summary>Signals of a washer that are read together.</summary>
/// <param name="Number">0 to 255.</param>
/// <param name="Name">For people.</param>
/// <param name="Every">How often it is asked for.</param>
public sealed record GroupNow(int Number, string Name, TimeSpan Every)
{
    /// <summary>When it was read last: the answer was there. Null: never, as far as is looked back.</summary>
    public Instant? LastRead { get; init; }

    /// <summary>The same read: the question had not been sent before. What it shows held at some moment from here on.</summary>
    public Instant? LastSeen { get; init; }

    /// <summary>Since when it cannot be read; null: it can, or nobody has tried.</summary>
    public Instant? LostSince { get; init; }

    public string? LostReason { get; init; }
}

/// <summary>One station as it stands now.</summary>
/// <param name="Number">From 1.</param>
public sealed record StationNow(int Number)
{
    /// <summary>The keg that was scanned and is not judged yet.</summary>
    public KegScanned? Scanned { get; init; }

    /// <summary>The keg's id as the controller tells it; null: it tells none.</summary>
    public string? Tag { get; init; }

    /// <summary>Whether a keg is there; null: nothing tells.</summary>
    public bool? HasKeg { get; init; }

    /// <summary>The last keg's verdict.</summary>
    public KegJudged? Last { get; init; }

    /// <summary>The slowest drain of the cycle that runs, or of the last one.</summary>
    public DrainMeasured? Drain { get; init; }
}

/// <summary>One bath as it stands now.</summary>
/// <param name="Of"><c>caustic</c>, <c>acid</c> or <c>sanitiser</c>.</param>
public sealed record BathNow(string Of)
{
    /// <summary>The last good readings, by the first part of the signal's name: conductivity, temperature, level.</summary>
    public ImmutableArray<BathReading> Readings { get; init; } = [];

    /// <summary>The last one recorded since as far as is looked back; null: none.</summary>
    public TitrationRecorded? Titration { get; init; }

    /// <summary>When it was last recorded as changed; null: never.</summary>
    public Instant? ChangedAt { get; init; }

    /// <summary>Cycles seen to end since then; null where the change is not known.</summary>
    public int? CyclesSinceChange { get; init; }

    /// <summary>What is known of how long it will last; null: nothing yet.</summary>
    public Forecast? Forecast { get; init; }
}

/// <param name="Quantity">Such as <c>conductivity</c>.</param>
/// <param name="Value">In <paramref name="Unit"/>; null: the last reading could not be trusted.</param>
/// <param name="Unit">UCUM, as in the signal catalogue.</param>
public sealed record BathReading(string Quantity, double? Value, string Unit);
