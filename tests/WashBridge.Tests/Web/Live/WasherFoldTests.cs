using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;
using WashBridge.Web.Live;

namespace WashBridge.Tests.Web.Live;

public sealed class WasherFoldTests
{
    private static readonly Instant Begin = Instant.Parse("2031-03-05T08:00:00Z");

    private readonly WasherFold _fold = new(Washers.One);

    [Fact]
    public void Before_anything_came_it_is_not_read_and_claims_nothing()
    {
        Assert.Equal(WasherState.NotRead, _fold.Now.StateAt(Begin));
        Assert.Null(_fold.Now.LastRead);
        Assert.Null(_fold.Now.HasFault);
        Assert.All(_fold.Now.Baths, b => Assert.Null(b.CyclesSinceChange));
        Assert.Equal(["caustic", "sanitiser"], _fold.Now.Baths.Select(b => b.Of));
    }

    [Fact]
    public void A_phase_lasts_from_its_first_step_through_all_its_passes()
    {
        Read(0);
        Take(Started(0), Step("rinse", 1, StepKind.WallSpray, 0), Step("caustic-wash", 1, StepKind.WallSpray, 10), Step("caustic-wash", 2, StepKind.WallSpray, 25));
        Read(40);

        Assert.Equal(WasherState.Washing, _fold.Now.StateAt(At(40)));
        Assert.Equal((2, "caustic-wash"), (_fold.Now.Step!.Pass, _fold.Now.Step.Phase));
        var lasted = _fold.Now.Since(_fold.Now.PhaseStart!.Value, At(41));

        // The edge is a second wide; the last read was sent at 39.9 s, and nobody knows what happened since.
        Assert.Equal((TimeSpan.FromSeconds(29.9), TimeSpan.FromSeconds(32)), (lasted.Lower, lasted.Upper));
    }

    [Fact]
    public void A_clock_that_is_set_changes_no_duration_and_one_set_by_nobody_knows_how_much_leaves_it_open()
    {
        Take(Started(0), Step("rinse", 1, StepKind.WallSpray, 0));
        Take(Event(new ClockStepped { Id = "c1", Washer = "w", At = TimeBounds.At(At(5)), Shift = TimeSpan.FromHours(1), Reason = "set" }));
        var later = At(10) + TimeSpan.FromHours(1);
        Assert.Equal(TimeSpan.FromSeconds(11), _fold.Now.Since(_fold.Now.PhaseStart!.Value, later).Upper);

        Take(Event(new ClockStepped { Id = "c2", Washer = "w", At = TimeBounds.At(later), Shift = null, Reason = "watching began" }));
        var open = _fold.Now.Since(_fold.Now.PhaseStart!.Value, later);
        Assert.False(open.IsUpperKnown);
        Assert.Equal(TimeSpan.Zero, open.Lower);
    }

    [Fact]
    public void A_clock_set_back_does_not_make_the_last_read_lie_in_the_future()
    {
        Read(100);
        Read(20);
        Assert.Equal(At(20), _fold.Now.LastRead);
    }

    [Fact]
    public void A_pause_is_told_and_not_counted_as_time_in_the_step()
    {
        Take(Started(0), Step("sanitise", 1, StepKind.Hold, 0));
        Take(Event(new CyclePaused { Id = "p", Washer = "w", CycleId = "c", At = Wall(10), Edge = Edge(10) }));
        Read(20);
        Assert.Equal(WasherState.Paused, _fold.Now.StateAt(At(20)));
        Assert.InRange(_fold.Now.InStep(At(20)).Upper.TotalSeconds, 10, 12);

        Take(Event(new CycleResumed { Id = "r", Washer = "w", CycleId = "c", At = Wall(30), Pause = new Pause(Edge(10), Edge(30), Edge(10).Until(Edge(30))) }));
        Read(40);
        Assert.Equal(WasherState.Washing, _fold.Now.StateAt(At(40)));
        var held = _fold.Now.InStep(At(40));
        Assert.InRange(held.Lower.TotalSeconds, 18, 20);
        Assert.InRange(held.Upper.TotalSeconds, 20, 23);
    }

    [Fact]
    public void A_fault_stands_while_flag_or_code_says_so()
    {
        Read(0, Sample("sequence.fault", 1), Sample("sequence.step", 0));
        Assert.Equal(WasherState.Fault, _fold.Now.StateAt(At(0)));
        Read(1, Sample("sequence.fault", 0), Sample("sequence.step", 9));
        Assert.Equal(WasherState.Fault, _fold.Now.StateAt(At(1)));
        Read(2, Sample("sequence.step", 0));
        Assert.Equal(WasherState.Idle, _fold.Now.StateAt(At(2)));
    }

    [Fact]
    public void Each_group_is_lost_and_found_by_itself_with_its_first_reason()
    {
        Read(0);
        Read(0, group: 1);
        Fail(5, group: 1, "no answer");
        Fail(9, group: 1, "refused");
        var lost = Assert.Single(_fold.Now.Silent(At(10)));
        Assert.Equal((1, At(5), "no answer", At(0)), (lost.Number, lost.LostSince!.Value, lost.LostReason!, lost.LastRead!.Value));
        Assert.NotEqual(WasherState.NotRead, _fold.Now.StateAt(At(9)));

        Read(10, group: 1);
        Assert.Empty(_fold.Now.Silent(At(10)));
    }

    [Fact]
    public void The_event_of_a_loss_that_is_over_does_not_bring_it_back()
    {
        Read(20);
        Take(Event(new SourceLost { Id = "l", Washer = "w", At = Wall(5), Group = 0, Reason = "late news" }));
        Assert.DoesNotContain(_fold.Now.Silent(At(20)), g => g.Number == 0);
        Take(Event(new SourceLost { Id = "m", Washer = "w", At = Wall(30), Group = 0, Reason = "now" }));
        Assert.Equal("now", Assert.Single(_fold.Now.Silent(At(31)), g => g.Number == 0).LostReason);
        Take(Event(new SourceRestored { Id = "n", Washer = "w", At = Wall(40), Group = 0, Gap = Wall(30) }));
        Assert.Null(_fold.Now.Groups[0].LostSince);
    }

    [Fact]
    public void Silence_without_a_reason_is_not_taken_for_health()
    {
        Read(0);
        Assert.Equal(WasherState.Idle, _fold.Now.StateAt(At(9)));
        Assert.Equal(WasherState.NotRead, _fold.Now.StateAt(At(11)));
    }

    [Fact]
    public void A_keg_scanned_is_shown_until_it_is_judged_and_the_next_one_stays()
    {
        Take(Scan(1, "K-1", 0));
        Assert.Equal("K-1", _fold.Now.Stations[0].Scanned!.KegId);
        Take(Judged(1, "K-1", Verdict.NotMet, 100));
        Assert.Null(_fold.Now.Stations[0].Scanned);
        Assert.Equal(Verdict.NotMet, _fold.Now.Stations[0].Last!.Verdict.Verdict);
        Take(Scan(1, "K-2", 120), Judged(1, "K-1", Verdict.Met, 110));
        Assert.Equal("K-2", _fold.Now.Stations[0].Scanned!.KegId);
        Take(Scan(7, "K-3", 130));
        Assert.Equal(2, _fold.Now.Stations.Length);
    }

    [Fact]
    public void The_slowest_drain_of_a_cycle_is_kept_until_the_next_cycle_has_one()
    {
        Take(Drain("c", 8), Drain("c", 12), Drain("c", 1));
        Assert.Equal(12, _fold.Now.Stations[0].Drain!.Drain.Time.Lower.TotalSeconds);
        Take(Drain("d", 3));
        Assert.Equal(3, _fold.Now.Stations[0].Drain!.Drain.Time.Lower.TotalSeconds);
    }

    [Fact]
    public void Cycles_of_a_bath_are_counted_from_its_change_only()
    {
        Take(Ended("c", 0));
        Assert.Null(_fold.Now.Baths[0].CyclesSinceChange);
        Take(Event(new MaintenanceRecorded { Id = "m", Washer = "w", At = Wall(10), Component = new Component(ComponentKind.Bath, "caustic"), Work = MaintenanceKind.Replaced, By = "T. Ester" }));
        Take(Ended("d", 20), Ended("e", 30));
        Assert.Equal((2, (int?)null), (_fold.Now.Baths[0].CyclesSinceChange!.Value, _fold.Now.Baths[1].CyclesSinceChange));
    }

    [Fact]
    public void A_reading_of_a_bath_that_cannot_be_trusted_is_not_shown_as_a_value()
    {
        Read(0, Sample("conductivity.caustic", 72.5, SignalType.Quantity, "mS/cm"));
        Assert.Equal(new BathReading("conductivity", 72.5, "mS/cm"), Assert.Single(_fold.Now.Baths[0].Readings));
        Read(1, Sample("conductivity.caustic", 90, SignalType.Quantity, "mS/cm", Quality.Uncertain));
        Assert.Null(Assert.Single(_fold.Now.Baths[0].Readings).Value);
    }

    [Fact]
    public void A_start_that_was_not_seen_is_said_and_the_next_phase_is_known_again()
    {
        Take(Started(0) with { StartUnseen = true }, Step("rinse", 1, StepKind.Drain, 0));
        Assert.True(_fold.Now.IsPhaseStartUnseen);
        Take(Step("caustic-wash", 1, StepKind.WallSpray, 10));
        Assert.False(_fold.Now.IsPhaseStartUnseen);
    }

    [Fact]
    public void A_programme_without_end_does_not_fill_the_memory()
    {
        Take(Started(0));
        for (var pass = 1; pass <= 2000; pass++)
        {
            Take(Step("rinse", pass, StepKind.WallSpray, pass));
        }

        Assert.Equal(500, _fold.Now.Begun.Length);
        Assert.Equal(2000, _fold.Now.Begun[^1].Pass);
    }

    [Fact]
    public void What_was_taken_as_a_picture_does_not_change_any_more()
    {
        Read(0, Sample("sequence.programme", 1));
        var before = _fold.Now;
        Take(Started(0), Step("rinse", 1, StepKind.WallSpray, 0));
        Read(9, Sample("sequence.programme", 2));
        Assert.Equal((1, (CycleStarted?)null, At(0)), (before.Programme!.Value, before.Cycle, before.LastRead!.Value));
    }

    private static Instant At(double seconds) => Begin + TimeSpan.FromSeconds(seconds);

    private static TimeBounds Wall(double seconds) => new(At(seconds - 1), At(seconds));

    /// <summary>Known to a second, on a line that lies an hour behind the wall clock.</summary>
    private static Edge Edge(double seconds) => new(Moment(seconds - 1), Moment(seconds));

    private static Moment Moment(double seconds) => new(At(seconds), At(seconds) - TimeSpan.FromHours(1), 3);

    private static CycleStarted Started(double at) => new() { Id = "s", Washer = "w", CycleId = "c", At = Wall(at), Edge = Edge(at) };

    private static StepStarted Step(string phase, int pass, StepKind kind, double at) =>
        new() { Id = $"{phase}{pass}{kind}{at}", Washer = "w", CycleId = "c", At = Wall(at), Phase = phase, PhaseKind = PhaseKind.Rinse, Pass = pass, Step = kind, Edge = Edge(at) };

    private static CycleEnded Ended(string id, double at) => new()
    {
        Id = id, Washer = "w", CycleId = id, At = Wall(at),
        Cycle = new CycleRecord { Id = id, Washer = "w", Start = Edge(at - 100), End = Edge(at), Outcome = CycleOutcome.Completed, Phases = [], Stations = [], Gaps = [], Pauses = [] },
    };

    private static KegScanned Scan(int station, string keg, double at) => new() { Id = keg, Washer = "w", At = Wall(at), Station = station, KegId = keg };

    private static KegJudged Judged(int station, string keg, Verdict verdict, double at) => new()
    {
        Id = $"{keg}{at}", Washer = "w", CycleId = "c", At = Wall(at),
        Verdict = new KegVerdict { KegId = keg, KegIdSource = KegIdSource.Scan, CycleId = "c", Washer = "w", Station = station, Recipe = "r", RecipeVersion = 1, Rule = DecisionRule.Bounds, Verdict = verdict, Results = [] },
    };

    private static DrainMeasured Drain(string cycle, double seconds) => new()
    {
        Id = $"{cycle}{seconds}", Washer = "w", CycleId = cycle, At = Wall(seconds), Station = 1,
        Drain = new DrainRecord("rinse", 1, Edge(0), Edge(seconds), new DurationBounds(TimeSpan.FromSeconds(seconds), TimeSpan.FromSeconds(seconds + 1)), Shared: false),
    };

    private static WashEvent Event(WashEvent washEvent) => washEvent;

    private static Sample Sample(string name, double value, SignalType type = SignalType.Integer, string unit = "", Quality quality = Quality.Good) =>
        new(new Signal("w", 0, name, unit, type), new SignalValue(value), quality, Wall(0));

    private void Take(params WashEvent[] events)
    {
        foreach (var washEvent in events)
        {
            _fold.Take(washEvent);
        }
    }

    private void Read(double at, params Sample[] samples) => Read(at, 0, samples);

    private void Read(double at, int group, params Sample[] samples) =>
        _fold.Take(new Frame { Washer = "w", Group = group, Kind = FrameKind.Changes, Read = new TimeBounds(At(at - 0.1), At(at)), Samples = samples });

    private void Fail(double at, int group, string reason) =>
        _fold.Take(new Frame { Washer = "w", Group = group, Kind = FrameKind.Failed, Read = new TimeBounds(At(at - 0.1), At(at)), Reason = reason });
}
