using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using static WashBridge.Core.Tests.Verdicts.Asked;
using static WashBridge.Core.Tests.Verdicts.CycleScript;

namespace WashBridge.Core.Tests.Verdicts;

public sealed class QuantityTests
{
    private static readonly TraceScript Caustic = new("temperature.caustic", "Cel");

    private static readonly TimeBeyond Hot = new()
    {
        Id = "hot", Signal = "temperature.caustic", Value = 70, Phases = ["caustic"], AtLeast = TimeSpan.FromSeconds(50),
    };

    /// <summary>The caustic phase runs from 20 s to 80 s, each edge within half a second.</summary>
    private static CycleScript Cycle() => new CycleScript()
        .Phase("rinse", PhaseKind.Rinse).Pass(new Step(StepKind.WallSpray, 20))
        .Phase("caustic", PhaseKind.CausticWash).Pass(new(StepKind.WallSpray, 50), new(StepKind.Drain, 10));

    [Fact]
    public void A_bath_that_stays_hot_counts_from_edge_to_edge_of_the_phase()
    {
        var result = Cycle().Judged(Hot, frames: Caustic.Of(_ => 75));

        Assert.Equal((59.0, 61.0, Verdict.Met), (result.Lower, result.Upper, result.Verdict));
        Assert.Equal("temperature.caustic was at or above 70 °C in caustic for 59 to 61 s; at least 50 s is asked: met.", result.Evidence);
    }

    [Fact]
    public void A_value_known_only_from_a_full_frame_before_the_cycle_holds_as_long_as_frames_come()
    {
        var frames = (Caustic with { From = -60, Every = 5 }).Of(_ => 75);

        Assert.Single(frames, f => f.Samples.Count > 0);
        Assert.Equal(Verdict.Met, Cycle().Judged(Hot, frames: frames).Verdict);
    }

    [Fact]
    public void A_crossing_between_two_readings_counts_above_and_not_below()
    {
        // Below at the reading of 40 s, above at that of 41 s.
        var result = Cycle().Judged(Hot, frames: Caustic.Of(t => t <= 40 ? 60 : 75));

        Assert.Equal(79.5 - 41, result.Lower!.Value, 6);
        Assert.Equal(80.5 - 40, result.Upper!.Value, 6);
        Assert.Equal(Verdict.NotMet, result.Verdict);
    }

    [Fact]
    public void A_reading_can_have_been_taken_at_any_moment_of_its_request()
    {
        // Below at 40.0 to 40.4 s, above at 41.0 to 41.4 s; and the other way round at 60 s.
        var result = Cycle().Judged(Hot, frames: (Caustic with { ReadWidth = 0.4 }).Of(t => t is > 40 and <= 60 ? 75 : 60));

        Assert.Equal(60 - 41.4, result.Lower!.Value, 6);
        Assert.Equal(61.4 - 40, result.Upper!.Value, 6);
    }

    [Fact]
    public void The_sensors_uncertainty_is_taken_twice_from_every_reading()
    {
        var near = Caustic.Of(_ => 71);

        Assert.Equal(Verdict.Met, Cycle().Judged(Hot with { SensorUncertainty = 0.5 }, frames: near).Verdict);
        var result = Cycle().Judged(Hot with { SensorUncertainty = 0.51 }, frames: near);
        Assert.Equal((Verdict.NotProven, 0.0, 61.0), (result.Verdict, result.Lower, result.Upper));
        Assert.Equal(Verdict.NotMet, Cycle().Judged(Hot with { SensorUncertainty = 0.5 }, frames: Caustic.Of(_ => 68.9)).Verdict);
    }

    [Fact]
    public void Time_below_a_value_is_the_mirror()
    {
        var cold = Hot with { Below = true, SensorUncertainty = 0.5 };

        Assert.Equal(Verdict.Met, Cycle().Judged(cold, frames: Caustic.Of(_ => 69)).Verdict);
        Assert.Equal(Verdict.NotProven, Cycle().Judged(cold, frames: Caustic.Of(_ => 70)).Verdict);
        Assert.Equal(Verdict.NotMet, Cycle().Judged(cold, frames: Caustic.Of(_ => 71.1)).Verdict);
    }

    [Theory]
    [InlineData(9, 59, "")]
    [InlineData(12, 47, "12 s without good readings")]
    public void Readings_too_far_apart_count_above_only(double gap, double lower, string note)
    {
        var result = Cycle().Judged(Hot, frames: (Caustic with { IsLost = t => t > 40 && t < 40 + gap }).Of(_ => 75));

        Assert.Equal((lower, 61.0), (result.Lower, result.Upper));
        Assert.Contains(note, result.Evidence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_reading_of_poor_quality_is_no_reading()
    {
        var result = Cycle().Judged(Hot, frames: (Caustic with { Quality = t => t == 50 ? Quality.Uncertain : Quality.Good }).Of(_ => 75));

        Assert.Equal((57.0, 61.0), (result.Lower, result.Upper));
    }

    [Fact]
    public void A_gap_in_the_sequence_does_not_count_as_time_in_the_phase()
    {
        var script = Cycle();
        script.Gaps.Add((30, 40));

        var result = script.Judged(Hot, frames: Caustic.Of(_ => 75));

        Assert.Equal((49.0, Verdict.NotProven), (result.Lower, result.Verdict));
    }

    [Fact]
    public void A_signal_that_never_came_is_named()
    {
        var result = Cycle().Judged(Hot);

        Assert.Equal(Verdict.NotProven, result.Verdict);
        Assert.Contains("temperature.caustic", result.Evidence, StringComparison.Ordinal);
        Assert.Contains("tag map", result.Evidence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_stations_own_signal_goes_before_the_washers()
    {
        var script = Cycle();
        script.Stations.Add(new() { Station = 2, KegPresent = true, Drains = [] });
        IReadOnlyList<Frame> frames = [
            .. new TraceScript("temperature.return", "Cel").Of(_ => 75),
            .. (new TraceScript("temperature.return", "Cel") { Station = 2 }).Of(_ => 60).Select(f => f with { Group = 2 }),
        ];

        var verdicts = Judge.Decide(script.Build(), frames, Recipe(Hot with { Signal = "temperature.return" }), []);

        Assert.Equal([Verdict.Met, Verdict.NotMet], verdicts.Select(v => v.Verdict));
    }

    [Theory]
    [InlineData(3600)]
    [InlineData(-3600)]
    [InlineData(-20)]
    public void A_known_jump_of_the_clock_changes_no_duration(double jump)
    {
        // The cycle's moments carry the wall clock after the jump and the steady time without it.
        double Error(double t) => t > 45 ? jump : 0;
        var cycle = Shifted(Cycle().Build(), m => m.Steady > Wall(45) ? m with { Wall = m.Wall + TimeSpan.FromSeconds(jump) } : m);

        var result = Judge.Decide(cycle, (Caustic with { ClockError = Error }).Of(_ => 75), Recipe(Hot), [])[0].Results[0];

        Assert.Equal((59.0, 61.0), (Math.Round(result.Lower!.Value, 6), Math.Round(result.Upper!.Value, 6)));
    }

    [Fact]
    public void Frames_that_begin_after_earlier_jumps_still_find_their_place()
    {
        // The recording had jumped by 100 s and rebooted twice before these frames begin.
        var cycle = Shifted(Cycle().Build(), m => new Moment(m.Wall, m.Steady - TimeSpan.FromSeconds(100), 2));

        var result = Judge.Decide(cycle, Caustic.Of(_ => 75), Recipe(Hot), [])[0].Results[0];

        Assert.Equal((59.0, 61.0), (result.Lower, result.Upper));
    }

    [Fact]
    public void Readings_of_the_same_wall_time_before_the_clock_was_set_back_are_not_taken_for_the_cycles()
    {
        // For 300 s the bath was hot; then the clock was set back by 300 s, and the cycle ran with a cold bath at the same wall times.
        double Error(double t) => t < -100 ? 300 : 0;
        var frames = (Caustic with { From = -400, To = 95, ClockError = Error }).Of(t => t < -100 ? 75 : 60);

        var result = Cycle().Judged(Hot, frames: frames);

        Assert.Equal((Verdict.NotMet, 0.0), (result.Verdict, result.Upper));
    }

    [Fact]
    public void A_reboot_within_the_phase_proves_nothing_across_it()
    {
        var frames = Caustic.Of(_ => 75).ToList();
        frames.Insert(frames.FindIndex(f => f.Read.Earliest > Wall(45)), new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Clock, Read = TimeBounds.At(Wall(45.5)), Clock = new ClockShift(null) });
        var cycle = Shifted(Cycle().Build(), m => m.Steady > Wall(45) ? m with { Epoch = 1 } : m);

        var result = Judge.Decide(cycle, frames, Recipe(Hot), [])[0].Results[0];

        Assert.Null(result.Upper);
        Assert.Equal((45 - 20.5) + (79.5 - 46), result.Lower!.Value, 6);
    }

    [Fact]
    public void Frames_of_another_time_line_prove_nothing()
    {
        // The cycle's own moments show a jump that the frames do not tell.
        var cycle = Shifted(Cycle().Build(), m => m.Steady > Wall(45) ? m with { Wall = m.Wall + TimeSpan.FromSeconds(30) } : m);

        Assert.Equal(0, Judge.Decide(cycle, Caustic.Of(_ => 75), Recipe(Hot), [])[0].Results[0].Lower);
    }

    [Fact]
    public void Dose_counts_the_lower_reading_below_and_the_higher_above()
    {
        // 80 Cel for A0 = 1 a second, 90 Cel for 10 a second; the step lies between the readings of 50 s and 51 s.
        var dose = new ThermalDose { Id = "dose", Method = DoseMethod.A0, Signal = "temperature.caustic", Phases = ["caustic"], AtLeast = 300 };

        var result = Cycle().Judged(dose, frames: Caustic.Of(t => t <= 50 ? 80 : 90));

        Assert.Equal((51 - 20.5) + (10 * (79.5 - 51)), result.Lower!.Value, 6);
        Assert.Equal((50 - 19.5) + (10 * (80.5 - 50)), result.Upper!.Value, 6);
        Assert.Equal(Verdict.Met, result.Verdict);
    }

    [Fact]
    public void Doses_allow_for_the_sensor_and_do_not_count_what_may_be_too_cold()
    {
        var a0 = new ThermalDose { Id = "dose", Method = DoseMethod.A0, Signal = "temperature.caustic", Phases = ["caustic"], AtLeast = 1, SensorUncertainty = 0.25 };
        var pu = a0 with { Method = DoseMethod.PasteurisationUnits };

        // 65.2 less twice 0.25 is below 65: nothing is proven.
        Assert.Equal(0, Cycle().Judged(a0, frames: Caustic.Of(_ => 65.2)).Lower);

        var units = Cycle().Judged(pu, frames: Caustic.Of(_ => 60.5));
        Assert.Equal(59.0 / 60, units.Lower!.Value, 9);
        Assert.Equal(61.0 / 60 * 1.393, units.Upper!.Value, 9);
        Assert.Equal(("PU", Verdict.NotProven), (units.Unit, units.Verdict));
    }

    [Fact]
    public void Heat_that_was_not_read_can_have_been_anything()
    {
        var dose = new ThermalDose { Id = "dose", Method = DoseMethod.A0, Signal = "temperature.caustic", Phases = ["caustic"], AtLeast = 100 };

        var result = Cycle().Judged(dose, frames: (Caustic with { IsLost = t => t > 30 && t < 60 }).Of(_ => 80));

        Assert.Equal((9.5 + 19.5, null, Verdict.NotProven), (result.Lower, result.Upper, result.Verdict));
    }

    private static CycleRecord Shifted(CycleRecord cycle, Func<Moment, Moment> move)
    {
        Edge Edge(Edge e) => new(move(e.Earliest), move(e.Latest));
        return cycle with
        {
            Start = Edge(cycle.Start),
            End = Edge(cycle.End),
            Phases = [.. cycle.Phases.Select(p => p with
            {
                Start = Edge(p.Start),
                End = Edge(p.End),
                Passes = [.. p.Passes.Select(pass => pass with { Steps = [.. pass.Steps.Select(s => s with { Start = Edge(s.Start), End = Edge(s.End) })] })],
            })],
        };
    }
}
