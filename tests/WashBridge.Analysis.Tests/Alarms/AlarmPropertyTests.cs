using CsCheck;
using WashBridge.Analysis.Alarms;
using WashBridge.Core;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;

namespace WashBridge.Analysis.Tests.Alarms;

/// <summary>Any order of events, sensible or not.</summary>
public sealed class AlarmPropertyTests
{
    /// <summary>
    /// The arrows of the diagram (IEC 62682:2014, ANSI/ISA-18.2-2016, from memory), besides those that change the words and not the state: first what leaves normal, and so on.
    /// </summary>
    private static readonly HashSet<string> Arrows = [.. "NU NS ND NO UR UA US UD UO AN AU AS AD AO RU RN RS RD RO SN SU DN DU ON OU".Split(' ')];

    private static readonly string[] Alarms = ["drain-valve@1", "drift/drain-time@1", "drift/level/caustic", "setpoint/sanitise.hold", "kegs-not-met", "not-readable", "no-such-alarm"];

    private static readonly Gen<(int What, int Which, int Minutes)[]> Days = Gen.Select(Gen.Int[0, 19], Gen.Int[0, 6], Gen.Frequency((5, Gen.Int[0, 3]), (1, Gen.Int[0, 2000]))).Array[0, 60];

    [Fact]
    public void No_alarm_goes_where_the_standard_draws_no_arrow() => Days.Sample(steps =>
    {
        var states = new Dictionary<string, AlarmState>();
        foreach (var change in Run(new AlarmWatch(AlarmEvents.Settings), Events(steps)).OfType<AlarmChanged>())
        {
            Assert.Equal(states.GetValueOrDefault(change.Alarm), change.From);
            var arrow = $"{AlarmLifeCycleTests.Letter(change.From)}{AlarmLifeCycleTests.Letter(change.To)}";
            Assert.True(change.From == change.To || Arrows.Contains(arrow), $"{change.Alarm} went {arrow}");
            Assert.Equal(change.To == AlarmState.Shelved, change.Until is not null);
            Assert.True(change.To is not (AlarmState.Unacknowledged or AlarmState.Acknowledged) || change.Since is not null, "a standing alarm says since when");
            states[change.Alarm] = change.To;
        }
    });

    [Fact]
    public void Ids_are_unique_and_the_same_when_the_same_events_come_again() => Days.Sample(steps =>
    {
        var first = Run(new AlarmWatch(AlarmEvents.Settings), Events(steps)).Select(WashJson.Write).ToList();
        Assert.Equal(first, Run(new AlarmWatch(AlarmEvents.Settings), Events(steps)).Select(WashJson.Write));
        var ids = Run(new AlarmWatch(AlarmEvents.Settings), Events(steps)).Select(e => e.Id).ToList();
        Assert.Equal(ids.Distinct().Count(), ids.Count);
    });

    [Fact]
    public void A_watch_that_is_restored_anywhere_goes_on_as_if_it_had_never_stopped() => Gen.Select(Days, Gen.Int[0, 60]).Sample((steps, cut) =>
    {
        var events = Events(steps);
        var whole = Run(new AlarmWatch(AlarmEvents.Settings), events).Select(WashJson.Write);
        var before = new AlarmWatch(AlarmEvents.Settings);
        var found = Run(before, events.Take(cut)).ToList();
        var after = new AlarmWatch(AlarmEvents.Settings);
        after.Restore(before.Snapshot());
        Assert.Equal(before.Snapshot(), after.Snapshot());
        found.AddRange(Run(after, events.Skip(cut)));
        Assert.Equal(whole, found.Select(WashJson.Write));
    });

    /// <summary>A suppressed or shelved alarm announces nothing, and one whose condition has gone announces nothing either.</summary>
    [Fact]
    public void Whatever_is_announced_holds() => Days.Sample(steps =>
    {
        foreach (var change in Run(new AlarmWatch(AlarmEvents.Settings), Events(steps)).OfType<AlarmChanged>().Where(c => AlarmLifeCycle.IsAnnounced(c.From, c.To)))
        {
            Assert.NotNull(change.Since);
            Assert.True(change.Since <= change.At.Latest);
        }
    });

    private static IEnumerable<WashEvent> Run(AlarmWatch watch, IEnumerable<WashEvent> events) => events.SelectMany(watch.Accept);

    private static List<WashEvent> Events((int What, int Which, int Minutes)[] steps)
    {
        var events = new AlarmEvents();
        return [.. steps.Select(s => Event(events.Later(TimeSpan.FromMinutes(s.Minutes)), s.What, Alarms[s.Which]))];
    }

    private static WashEvent Event(AlarmEvents events, int what, string alarm) => what switch
    {
        0 => events.Order(alarm, AlarmOrderKind.Acknowledge),
        1 => events.Order(alarm, AlarmOrderKind.Shelve, reason: "why", shelveFor: TimeSpan.FromMinutes(5)),
        2 => events.Order(alarm, AlarmOrderKind.Unshelve),
        3 => events.Order(alarm, AlarmOrderKind.TakeOutOfService, reason: "why"),
        4 => events.Order(alarm, AlarmOrderKind.ReturnToService),
        5 => events.Forecast("drain-valve@1", ForecastState.Approaching, 100),
        6 => events.Forecast("drain-valve@1", ForecastState.Reached),
        7 => events.Forecast("drain-valve@1", ForecastState.NoTrend),
        8 => events.Drift("drain-time/rinse/1@1"),
        9 => events.DriftEnded("drain-time/rinse/1@1"),
        10 => events.Drift("level/caustic", -3),
        11 => events.DriftEnded("level/caustic"),
        12 => events.Deviated("sanitise.hold", 35, 21),
        13 => events.Conformed("sanitise.hold"),
        14 => events.Keg(1, Verdict.NotMet),
        15 => events.Keg(1, Verdict.Met),
        16 => events.Lost(),
        17 => events.Restored(),
        18 => events.Maintained("drain-valve@1", MaintenanceKind.Restored),
        _ => events.Cycle(),
    };
}
