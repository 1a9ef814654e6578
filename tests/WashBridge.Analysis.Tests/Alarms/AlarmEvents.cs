using System.Globalization;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;

namespace WashBridge.Analysis.Tests.Alarms;

/// <summary>Events as the other parts tell them, a minute apart.</summary>
internal sealed class AlarmEvents(string washer = "w1")
{
    public static readonly Instant Start = Instant.Parse("2031-03-05T08:00:00Z");

    private int _count;

    public Instant Now { get; private set; } = Start;

    public static AnalysisSettings Settings { get; } = new() { Washer = "w1", Stations = 2 };

    public AlarmEvents Later(TimeSpan time)
    {
        Now += time;
        return this;
    }

    public TimePassed Passed() => Next(new TimePassed { Id = "", Washer = washer, At = default });

    public CycleMeasured Cycle() => Next(new CycleMeasured
    {
        Id = "",
        Washer = washer,
        At = default,
        Features = new CycleFeatures { Outcome = CycleOutcome.Completed, Started = Now, Ended = Now, Recipe = "r", RecipeVersion = 1, Kegs = [], Figures = [] },
    });

    public AlarmOrdered Order(string alarm, AlarmOrderKind kind, string by = "T. Ester", string reason = "", TimeSpan? shelveFor = null) => Next(new AlarmOrdered
    {
        Id = "",
        Washer = washer,
        At = default,
        Order = new AlarmOrder(alarm, kind, by, reason, shelveFor is { } time ? Now + TimeSpan.FromMinutes(1) + time : null),
    });

    public ForecastMade Forecast(string component, ForecastState state, double? cyclesLeft = null, string firstCause = "clogging-valve", double weight = 0.8) => Next(new ForecastMade
    {
        Id = "",
        Washer = washer,
        At = default,
        Forecast = new Forecast
        {
            Component = Component.Parse(component),
            State = state,
            Index = "drain-index@1",
            Unit = "s",
            Limit = 20,
            CyclesLeft = cyclesLeft,
            CyclesLeftLower = cyclesLeft / 2,
            CyclesLeftUpper = cyclesLeft * 2,
            Causes = [new Cause(firstCause, "the drain valve clogs", weight, [], [])],
        },
    });

    public DriftFound Drift(string feature, double size = 3, string unit = "s") => Next(new DriftFound
    {
        Id = "",
        Washer = washer,
        At = default,
        Finding = new DriftFinding
        {
            Feature = feature,
            Chart = ChartKind.Cusum,
            Unit = unit,
            Centre = 10,
            Spread = 1,
            ReferenceCycles = 100,
            Size = size,
            SizeUncertainty = 0.5,
            Onset = new CycleSpan("c1", Start, Start, Start),
            CyclesTouched = 7,
            Kegs = ["K-1", "K-2"],
            KegCount = 14,
            FalseAlarmEvery = 10_000,
        },
    });

    public DriftEnded DriftEnded(string feature) => Next(new DriftEnded { Id = "", Washer = washer, At = default, Feature = feature, Reason = "back" });

    public SetpointDeviated Deviated(string setpoint, double approved, double set) =>
        Next(new SetpointDeviated { Id = "", Washer = washer, At = default, Finding = new SetpointFinding(setpoint, "s", approved, set, "full-wash", 3) });

    public SetpointConformed Conformed(string setpoint) => Next(new SetpointConformed { Id = "", Washer = washer, At = default, Setpoint = setpoint });

    public SourceLost Lost(int group = 0) => Next(new SourceLost { Id = "", Washer = washer, At = default, Group = group, Reason = "no reply within the time-out" });

    public SourceRestored Restored(int group = 0) => Next(new SourceRestored { Id = "", Washer = washer, At = default, Group = group, Gap = TimeBounds.At(Now) });

    public MaintenanceRecorded Maintained(string component, MaintenanceKind work) =>
        Next(new MaintenanceRecorded { Id = "", Washer = washer, At = default, Component = Component.Parse(component), Work = work, By = "T. Ester" });

    public KegJudged Keg(int station, Verdict verdict) => Next(new KegJudged
    {
        Id = "",
        Washer = washer,
        At = default,
        Verdict = new KegVerdict
        {
            KegId = "K",
            KegIdSource = KegIdSource.Tag,
            CycleId = "c",
            Washer = washer,
            Station = station,
            Recipe = "full-wash",
            RecipeVersion = 3,
            Rule = DecisionRule.Bounds,
            Verdict = verdict,
            Results = [new RequirementResult { Requirement = "sanitise-hold", Verdict = verdict, Evidence = "held 21 s" }],
        },
    });

    private T Next<T>(T washEvent)
        where T : WashEvent
    {
        Now += TimeSpan.FromMinutes(1);
        return washEvent with { Id = $"{washer}/e{(++_count).ToString(CultureInfo.InvariantCulture)}", At = TimeBounds.At(Now) };
    }

    public static AlarmReport Report(string alarm, bool holds, AlarmPriority priority = AlarmPriority.Medium, AlarmDelay on = default, AlarmDelay off = default) => new()
    {
        Alarm = alarm,
        Holds = holds,
        Priority = priority,
        Text = new AlarmText { What = "what", Kegs = "kegs", LookAt = "look" },
        OnDelay = on,
        OffDelay = off,
    };

    /// <summary>Changes in one line, such as <c>drain-valve@1 N-U</c>.</summary>
    public static string Line(IEnumerable<WashEvent> events) => string.Join(", ", events.Select(e => e switch
    {
        AlarmChanged c => $"{c.Alarm} {AlarmLifeCycleTests.Letter(c.From)}-{AlarmLifeCycleTests.Letter(c.To)}",
        AlarmOrderRefused r => "refused: " + r.Problem,
        _ => e.GetType().Name,
    }));
}
