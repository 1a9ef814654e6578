using System.Globalization;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Tests.Analysing;

/// <summary>Invented nights of the demonstration's two washers: cycles, kegs good and bad, losses, quiet hours, and people who order this and that.</summary>
internal sealed class WashNights(int seed, bool quietHours = true)
{
    private readonly Random _random = new(seed);
    private Instant _now = Instant.Parse("2031-03-05T20:00:00Z");
    private int _count;

    /// <param name="quietHours">Whether up to an hour passes now and then in which nothing is told.</param>
    public static List<WashEvent> Make(int seed, int count, bool quietHours = true)
    {
        var nights = new WashNights(seed, quietHours);
        return [.. Enumerable.Range(0, count).Select(_ => nights.Next())];
    }

    public WashEvent Cycle(TimeSpan after) => Place(new CycleMeasured
    {
        Id = "",
        Washer = "north",
        At = default,
        Features = new CycleFeatures { Outcome = CycleOutcome.Completed, Started = _now, Ended = _now, Recipe = "full-wash", RecipeVersion = 1, Kegs = [], Figures = [] },
    }, after);

    public WashEvent Scan() => Place(new KegScanned { Id = "", Washer = "north", At = default, Station = 1, KegId = "K-1" }, TimeSpan.FromSeconds(1));

    private WashEvent Next()
    {
        var washer = _random.Next(2) == 0 ? "north" : "yard";
        return _random.Next(10) switch
        {
            0 or 1 => Cycle(TimeSpan.FromMinutes(3)),
            2 or 3 or 4 => Place(Keg(washer, _random.Next(5) == 0 ? Verdict.Met : Verdict.NotMet), TimeSpan.FromSeconds(1)),
            5 => Place(new SourceLost { Id = "", Washer = washer, At = default, Group = _random.Next(2), Reason = "no reply within the time-out" }, TimeSpan.FromSeconds(1)),
            6 => Place(new SourceRestored { Id = "", Washer = washer, At = default, Group = _random.Next(2), Gap = TimeBounds.At(_now) }, TimeSpan.FromSeconds(_random.Next(200))),
            7 when quietHours => Place(new TimePassed { Id = "", Washer = washer, At = default }, TimeSpan.FromMinutes(_random.Next(60))),
            7 or 8 => Scan(),
            _ => Place(new AlarmOrdered { Id = "", Washer = washer, At = default, Order = Order() }, TimeSpan.FromSeconds(1)),
        };
    }

    private AlarmOrder Order()
    {
        var alarm = _random.Next(3) == 0 ? "not-readable" : "kegs-not-met";
        return _random.Next(5) switch
        {
            0 => new AlarmOrder(alarm, AlarmOrderKind.Shelve, "T. Ester", "part is ordered", _now + TimeSpan.FromHours(1)),
            1 => new AlarmOrder(alarm, AlarmOrderKind.TakeOutOfService, "T. Ester", "rebuilt"),
            2 => new AlarmOrder(alarm, AlarmOrderKind.ReturnToService, "T. Ester"),
            _ => new AlarmOrder(alarm, AlarmOrderKind.Acknowledge, "T. Ester"),
        };
    }

    private static KegJudged Keg(string washer, Verdict verdict) => new()
    {
        Id = "",
        Washer = washer,
        At = default,
        Verdict = new KegVerdict
        {
            KegId = "K-1",
            KegIdSource = KegIdSource.Tag,
            CycleId = "c",
            Washer = washer,
            Station = 1,
            Recipe = "full-wash",
            RecipeVersion = 1,
            Rule = DecisionRule.Bounds,
            Verdict = verdict,
            Results = [new RequirementResult { Requirement = "sanitiser-hold", Verdict = verdict, Evidence = "held 21 s" }],
        },
    };

    private WashEvent Place(WashEvent washEvent, TimeSpan after)
    {
        _now += after;
        return washEvent with { Id = $"{washEvent.Washer}/n{(++_count).ToString(CultureInfo.InvariantCulture)}", At = TimeBounds.At(_now) };
    }
}
