using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Simulator;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Polling;
using WashBridge.Simulator.Truth;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>Lets a year happen to a washer: begins episodes, puts them right, lets people work, skips nights. Looks at the truth only.</summary>
internal sealed class YearDirector
{
    private const int FirstEpisode = 1_300;
    private const int MeasuredCycles = 100;
    private static readonly string[] People = ["day mechanic", "shift technician", "electrician"];
    private static readonly TimeSpan UntilWork = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan UntilNight = TimeSpan.FromSeconds(3);
    private readonly YearPlan _plan;
    private readonly SimulatedWasher _washer;
    private readonly BridgeClock _clock;
    private readonly Random _random;
    private readonly EpisodeDraw _draw;
    private readonly YearRoutine _routine;
    private readonly List<RunningEpisode> _running = [];
    private readonly Queue<(TimeSpan At, MaintenanceRecorded Record)> _records = new();
    private readonly int _planned;
    private readonly int _measured;
    private readonly double _targetCel;
    private int _next;
    private double _drainSeconds;

    public YearDirector(YearPlan plan, SimulatedWasher washer, BridgeClock clock)
    {
        _plan = plan;
        _washer = washer;
        _clock = clock;
        WarmUp = Cycle = washer.CurrentCycle?.Number ?? washer.FinishedCycles.Last().Number;
        _random = new Random(plan.Seed + 500_000);
        _draw = new EpisodeDraw(plan, _random);
        _routine = new YearRoutine(plan, washer, this);
        _planned = plan.IsFaultFree ? 0 : _random.Next(4, 9);
        _measured = WarmUp + MeasuredCycles;
        _next = WarmUp + FirstEpisode + _random.Next(1_500);
        _targetCel = plan.Washer.Plant.Baths[0].Cel;
        washer.CycleFinished += Finished;
    }

    public List<TrueEpisode> Episodes { get; } = [];

    public List<RoutineWork> Routine { get; } = [];

    public List<HealthAt> Health { get; } = [];

    /// <summary>True cycles that had begun before anybody read.</summary>
    public int WarmUp { get; }

    /// <summary>Of the last true cycle.</summary>
    public int Cycle { get; private set; }

    /// <summary>From which true cycle on which version of the recipe is in force, the first first.</summary>
    public List<(int FromCycle, int Version)> Recipes { get; } = [(1, 1)];

    public bool IsBusy(Component component) => _running.Exists(r => r.Truth.Component == component.Key);

    /// <summary>A record of maintenance that was made by <paramref name="now"/>, in order; null: none.</summary>
    public MaintenanceRecorded? TakeRecord(TimeSpan now) => _records.TryPeek(out var next) && next.At <= now ? _records.Dequeue().Record : null;

    public void Record(TimeSpan at, Component component, MaintenanceKind work, bool hadFailed, string note)
    {
        var wall = _clock.Place(at).Wall;
        _records.Enqueue((at, new MaintenanceRecorded
        {
            Id = string.Create(CultureInfo.InvariantCulture, $"{_plan.Washer.Id}-{wall.ToDateTimeOffset():yyyyMMdd'T'HHmmss.ffffff}/maintenance/{component.Key}"),
            Washer = _plan.Washer.Id,
            At = TimeBounds.At(wall),
            Component = component,
            Work = work,
            By = People[_random.Next(People.Length)],
            Note = note,
            HadFailed = hadFailed,
        }));
    }

    public Instant WallOf(TimeSpan at) => _clock.Place(at).Wall;

    private void Finished(TrueCycle cycle)
    {
        Cycle = cycle.Number;
        var end = cycle.End!.Value;
        Measure(cycle);
        foreach (var episode in _running.ToList())
        {
            var failedBefore = episode.Truth.FailureCycle is not null;
            var isDue = episode.Follow(cycle);
            if (!failedBefore && episode.Truth.FailureCycle is not null)
            {
                episode.Truth.FailureAt = WallOf(end);
            }

            if (isDue)
            {
                PutRight(episode, end + UntilWork);
            }
        }

        if (_running.Count == 0 && Episodes.Count < _planned && cycle.Number >= _next)
        {
            BeginSome(end);
        }

        _routine.Work(cycle);
        if (cycle.Number % 100 == 0)
        {
            Health.Add(new HealthAt(cycle.Number, cycle.Health!));
        }

        if (ShiftClock.UntilNext(WallOf(end)) is { } rest)
        {
            _washer.Schedule(new ClockStep { When = When.At(end + UntilNight), Shift = rest });
        }
    }

    /// <summary>How long this washer's longest drain takes when nothing is wrong.</summary>
    private void Measure(TrueCycle cycle)
    {
        if (cycle.Number > WarmUp && cycle.Number <= _measured)
        {
            var longest = cycle.Drains.Where(d => d.Dry is not null).Select(d => (d.Dry!.Value - d.Start).TotalSeconds).DefaultIfEmpty(0).Max();
            _drainSeconds += longest / MeasuredCycles;
            _draw.DrainSeconds = cycle.Number == _measured ? _drainSeconds : _draw.DrainSeconds;
        }
    }

    /// <summary>One, or in one of seven cases two at about the same time.</summary>
    private void BeginSome(TimeSpan now)
    {
        var first = Begin(_draw.Draw(), Cycle + 1, now);
        if (_random.NextDouble() < 0.15)
        {
            var course = _draw.Draw();
            while (course.Kind == first.Kind)
            {
                course = _draw.Draw();
            }

            var second = Begin(course, Cycle + 1 + _random.Next(150), now);
            second.MixedWith = first.Number;
            first.MixedWith = second.Number;
        }
    }

    private TrueEpisode Begin(EpisodeCourse course, int cycle, TimeSpan now)
    {
        GradualFault? gradual = null;
        foreach (var fault in course.Begin(cycle))
        {
            gradual = fault as GradualFault ?? gradual;
            _washer.Schedule(fault);
        }

        var truth = new TrueEpisode
        {
            Number = Episodes.Count + 1,
            Kind = course.Kind,
            Component = course.Component?.Key ?? "",
            Station = course.Station,
            Bath = course.Bath,
            IsGradual = course.IsGradual,
            Path = gradual?.Path ?? WearPath.Wiener,
            Initial = gradual?.Initial ?? 0,
            PerCycle = gradual?.PerCycle ?? 0,
            Spread = gradual?.Spread ?? 0,
            Level = course.LevelTitle,
            Limit = course.Limit,
            FirstCycle = cycle,
            FirstAt = WallOf(now),
        };
        Episodes.Add(truth);
        _running.Add(new RunningEpisode(course, truth, _targetCel));
        return truth;
    }

    private void PutRight(RunningEpisode episode, TimeSpan at)
    {
        foreach (var fault in episode.Course.PutRight(When.At(at)))
        {
            _washer.Schedule(fault);
        }

        var hadFailed = episode.Truth.FailureCycle is not null;
        if (episode.Course.Component is { } component)
        {
            Record(at, component, episode.Course.Work, hadFailed, hadFailed ? "had failed" : "found worn");
        }

        episode.Truth.RepairCycle = Cycle;
        episode.Truth.RepairAt = WallOf(at);
        _running.Remove(episode);
        _next = Cycle + 900 + _random.Next(1_600);
    }
}
