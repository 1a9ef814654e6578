using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Configuration;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Polling;
using WashBridge.Web.Live;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Web.Live;

/// <summary>The board over a simulated washer of the demonstration, polled in virtual time and judged.</summary>
public sealed class LiveBoardTests : IDisposable
{
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 8, 0, 0, TimeSpan.Zero);

    private readonly TemporaryFolder _folder = new();
    private readonly Site _site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
    private readonly FakeTimeProvider _time = new(Start);
    private readonly IHistorian _historian;
    private readonly Analyst _analyst;
    private readonly VirtualPoller _poller = new(new SimulatedWasher(DemoScenario.Washers[0].Options with { Faults = [] }), new PollerOptions { Start = Instant.Floor(Start) });

    public LiveBoardTests()
    {
        _historian = HistorianFile.Open(_folder["board.washdb"], new HistorianOptions(), _time);
        _analyst = new Analyst(_historian, _site.Washers);
    }

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void A_board_that_begins_in_mid_cycle_knows_what_one_knows_that_saw_it_all()
    {
        using var saw = Board();
        for (var minute = 1; minute <= 8; minute++)
        {
            Run(TimeSpan.FromMinutes(minute));
            saw.CatchUp();
        }

        Run(TimeSpan.FromSeconds(500));
        saw.CatchUp();
        using var recalled = Board();
        var (one, other) = (saw.Washers[0], recalled.Washers[0]);
        Assert.NotNull(one.Cycle);
        Assert.Equal(one.Cycle, other.Cycle);
        Assert.Equal(one.Step, other.Step);
        Assert.Equal(one.PhaseStart, other.PhaseStart);
        Assert.Equal(one.Begun.AsEnumerable(), other.Begun);
        Assert.Equal(one.LastCycle!.Id, other.LastCycle!.Id);
        Assert.Equal(one.UsualLength, other.UsualLength);
        Assert.Equal(one.Line, other.Line);
        Assert.Equal(one.Groups.Select(g => g.LastRead), other.Groups.Select(g => g.LastRead));
        Assert.Equal(one.Stations.Select(s => s.Last!.Id), other.Stations.Select(s => s.Last!.Id));
        Assert.Equal(one.Stations.Select(s => s.Drain!.Id), other.Stations.Select(s => s.Drain!.Id));
        Assert.Equal(one.Since(one.PhaseStart!.Value, Instant.Floor(Start.AddSeconds(500))), other.Since(other.PhaseStart!.Value, Instant.Floor(Start.AddSeconds(500))));
    }

    [Fact]
    public void How_often_it_is_looked_at_changes_nothing()
    {
        using var often = Board();
        using var once = Board();
        for (var second = 10; second <= 300; second += 10)
        {
            Run(TimeSpan.FromSeconds(second));
            often.CatchUp();
            _ = often.Washers;
        }

        once.CatchUp();
        Assert.Equal(often.Washers[0].Step, once.Washers[0].Step);
        Assert.Equal(often.Washers[0].Begun.AsEnumerable(), once.Washers[0].Begun);
        Assert.Equal(often.Washers[0].Baths.SelectMany(b => b.Readings), once.Washers[0].Baths.SelectMany(b => b.Readings));
    }

    [Fact]
    public void Looking_does_not_follow_the_log()
    {
        using var board = Board();
        Run(TimeSpan.FromSeconds(60));
        Assert.Null(board.Washers[0].Cycle);
        board.CatchUp();
        Assert.NotNull(board.Washers[0].Cycle);
    }

    [Fact]
    public void Cycles_since_a_bath_was_changed_are_known_again_after_a_restart()
    {
        Run(TimeSpan.FromMinutes(4));
        _historian.AppendEvents([new MaintenanceRecorded
        {
            Id = "change", Washer = "north", At = TimeBounds.At(Instant.Floor(Start.AddMinutes(4))), Component = new Component(ComponentKind.Bath, "caustic"), Work = MaintenanceKind.Replaced, By = "T. Ester",
        }]);
        using var saw = Board();
        Run(TimeSpan.FromMinutes(14));
        saw.CatchUp();
        using var recalled = Board();
        var count = saw.Washers[0].Baths.Single(b => b.Of == "caustic").CyclesSinceChange;
        Assert.InRange(count!.Value, 2, 5);
        Assert.Equal(count, recalled.Washers[0].Baths.Single(b => b.Of == "caustic").CyclesSinceChange);
        Assert.Null(saw.Washers[0].Baths.Single(b => b.Of == "acid").CyclesSinceChange);
    }

    [Fact]
    public void Alarms_are_those_that_stand_the_most_urgent_first_before_and_after_a_restart()
    {
        using var board = Board();
        _historian.AppendEvents([Alarm("a", AlarmState.Unacknowledged, AlarmPriority.Low), Alarm("b", AlarmState.Acknowledged, AlarmPriority.High), Alarm("c", AlarmState.Shelved, AlarmPriority.High), Alarm("d", AlarmState.ReturnedUnacknowledged, AlarmPriority.High)]);
        board.CatchUp();
        using var recalled = Board();
        Assert.All([board, recalled], b => Assert.Equal(["b", "a", "d"], b.OpenAlarms.Select(a => a.Alarm)));
        Assert.All([board, recalled], b => Assert.Equal("c", Assert.Single(b.AlarmsAside).Alarm));

        _historian.AppendEvents([Alarm("b", AlarmState.Normal, AlarmPriority.High)]);
        board.CatchUp();
        Assert.Equal(["a", "d"], board.OpenAlarms.Select(a => a.Alarm));
    }

    [Fact]
    public void Washers_that_the_site_does_not_have_are_named_and_disturb_nobody()
    {
        using var board = Board();
        _historian.AppendFrames([new Frame { Washer = "south", Group = 0, Kind = FrameKind.Failed, Read = TimeBounds.At(Instant.Floor(Start)), Reason = "gone" }]);
        _historian.AppendEvents([new TimePassed { Id = "t", Washer = "south", At = TimeBounds.At(Instant.Floor(Start)) }]);
        board.CatchUp();
        Assert.Equal(["south"], board.Strangers);
        Assert.Equal(_historian.LastSequence, board.Cursor);
    }

    private static AlarmChanged Alarm(string key, AlarmState to, AlarmPriority priority) => new()
    {
        Id = $"{key}/{to}", Washer = "north", At = TimeBounds.At(Instant.Floor(Start)), Alarm = key, From = AlarmState.Normal, To = to, Priority = priority, Text = new AlarmText { What = key, Kegs = "", LookAt = "" },
    };

    private LiveBoard Board() => new(_historian, new HistorianSignal(), _site, NullLogger<LiveBoard>.Instance);

    private void Run(TimeSpan until)
    {
        _historian.AppendFrames([.. _poller.PollUntil(until)]);
        _analyst.CatchUp();
    }
}
