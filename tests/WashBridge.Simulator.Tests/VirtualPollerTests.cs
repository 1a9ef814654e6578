using System.Text;
using CsCheck;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Polling;

namespace WashBridge.Simulator.Tests;

public sealed class VirtualPollerTests
{
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1);

    [Fact]
    public void The_true_sampling_instant_lies_within_the_bounds_of_its_samples() =>
        Gen.Select(Gen.Int[1, 100_000], Gen.Double[0, 0.1], Gen.Double[0, 0.05], Gen.Int[-120, 120]).Sample((seed, lost, failed, shiftSeconds) =>
        {
            var washer = new SimulatedWasher(Washer(seed,
                new ClockStep { When = When.At(TimeSpan.FromSeconds(20)), Shift = TimeSpan.FromSeconds(shiftSeconds) },
                new SlowReplies { When = When.At(TimeSpan.FromSeconds(25)), Duration = TimeSpan.FromSeconds(5), Delay = TimeSpan.FromMilliseconds(300) },
                new BridgeRestart { When = When.At(TimeSpan.FromSeconds(40)), Duration = TimeSpan.FromSeconds(4), ShiftKnown = false, Shift = TimeSpan.FromSeconds(1) }));
            var poller = new VirtualPoller(washer, new PollerOptions { Seed = seed, LostChance = lost, FailureChance = failed });
            var timeline = new Timeline(0, 0);
            var requests = 0;
            poller.Sampled += (bounds, at) =>
            {
                requests++;
                var place = poller.Clock.Place(at);
                Assert.True(timeline.Place(bounds.Earliest).Steady <= place.Steady && place.Steady <= timeline.Place(bounds.Latest).Steady);
                Assert.Equal(timeline.Epoch, place.Epoch);
            };
            foreach (var frame in poller.PollUntil(Minute))
            {
                timeline = frame.Clock is { } clock ? timeline.After(clock) : timeline;
                Assert.All(frame.Samples, s => Assert.True(frame.Read.Earliest <= s.At.Earliest && s.At.Latest <= frame.Read.Latest));
            }

            Assert.True(requests > 300);
            Assert.Equal(1, timeline.Epoch);
        }, iter: 20);

    [Fact]
    public void A_restart_comes_after_every_answer_that_the_bridge_took() =>
        Gen.Int[0, 999].Sample(milliseconds =>
        {
            var washer = new SimulatedWasher(Washer(milliseconds,
                new BridgeRestart { When = When.At(TimeSpan.FromMilliseconds(20_000 + milliseconds)), Duration = TimeSpan.FromSeconds(4), ShiftKnown = false }));
            var poller = new VirtualPoller(washer, new PollerOptions { Seed = milliseconds, DelayMaximum = TimeSpan.FromMilliseconds(60) });
            var timeline = new Timeline(0, 0);
            var reads = new List<(TimeSpan At, int Epoch)>();
            poller.Sampled += (_, at) => reads.Add((at, timeline.Epoch));
            foreach (var frame in poller.PollUntil(Minute))
            {
                timeline = frame.Clock is { } clock ? timeline.After(clock) : timeline;
            }

            Assert.Equal(1, timeline.Epoch);
            Assert.All(reads, r => Assert.Equal(r.Epoch, poller.Clock.Place(r.At).Epoch));
        }, iter: 20);

    [Fact]
    public void Frames_follow_one_another_on_the_steady_time_line()
    {
        var poller = Poll(new ClockStep { When = When.At(TimeSpan.FromSeconds(20)), Shift = TimeSpan.FromSeconds(-90) });
        var timeline = new Timeline(0, 0);
        var last = new Instant(0);
        foreach (var frame in poller.PollUntil(Minute))
        {
            timeline = frame.Clock is { } clock ? timeline.After(clock) : timeline;
            var read = timeline.Place(frame.Read.Earliest).Steady;
            Assert.True(read >= last);
            last = timeline.Place(frame.Read.Latest).Steady;
        }
    }

    [Fact]
    public void Values_read_in_changes_only_add_up_to_what_full_frames_say()
    {
        // Without dead bands in group 0, folding the changes must give what the next heartbeat repeats in full.
        var poller = Poll();
        var known = new Dictionary<Signal, SignalValue>();
        var heartbeats = 0;
        foreach (var frame in poller.PollUntil(TimeSpan.FromMinutes(4)).Where(f => f.Group == 0))
        {
            if (frame.Kind == FrameKind.Full && known.Count > 0)
            {
                heartbeats++;

                // At most the few signals that changed in this very poll may differ.
                Assert.True(frame.Samples.Count(s => !known[s.Signal].Equals(s.Value)) <= 6);
            }

            foreach (var sample in frame.Samples)
            {
                Assert.True(frame.Kind == FrameKind.Full || !known[sample.Signal].Equals(sample.Value), $"{sample.Signal} did not change");
                known[sample.Signal] = sample.Value;
            }
        }

        Assert.True(heartbeats >= 20);
    }

    [Fact]
    public void A_lost_connection_gives_failed_frames_and_then_full_ones()
    {
        var poller = Poll(new ConnectionLoss { When = When.At(TimeSpan.FromSeconds(30)), Duration = TimeSpan.FromSeconds(7) });
        var frames = poller.PollUntil(Minute).ToList();
        var failed = frames.Where(f => f.Kind == FrameKind.Failed).ToList();
        Assert.NotEmpty(failed);
        var from = poller.Clock.Place(TimeSpan.FromSeconds(29)).Wall;
        var to = poller.Clock.Place(TimeSpan.FromSeconds(37)).Wall;
        Assert.All(failed, f => Assert.True(f.Read.Earliest >= from && f.Read.Earliest <= to));
        Assert.All(failed, f => Assert.NotNull(f.Reason));
        var after = frames.Skip(frames.IndexOf(failed[^1]) + 1).ToList();
        foreach (var group in new[] { 0, 1, 2 })
        {
            Assert.Equal(FrameKind.Full, after.First(f => f.Group == group).Kind);
        }

        Assert.DoesNotContain(frames, f => f.Kind is FrameKind.Full or FrameKind.Changes
            && f.Read.Earliest > poller.Clock.Place(TimeSpan.FromSeconds(30.1)).Wall && f.Read.Latest < poller.Clock.Place(TimeSpan.FromSeconds(36.9)).Wall);
    }

    [Fact]
    public void Nothing_is_read_while_the_controller_has_no_power()
    {
        var poller = Poll(new PowerCut { When = When.At(TimeSpan.FromSeconds(30)), Duration = TimeSpan.FromSeconds(7) });
        Assert.DoesNotContain(poller.PollUntil(Minute), f => f.Kind is FrameKind.Full or FrameKind.Changes
            && f.Read.Earliest > poller.Clock.Place(TimeSpan.FromSeconds(30.1)).Wall && f.Read.Latest < poller.Clock.Place(TimeSpan.FromSeconds(36.9)).Wall);
    }

    [Fact]
    public void A_clock_step_comes_as_a_clock_frame_with_its_shift_and_moves_the_wall_times_after_it()
    {
        var shift = TimeSpan.FromSeconds(-42);
        var frames = Poll(new ClockStep { When = When.At(TimeSpan.FromSeconds(30)), Shift = shift }).PollUntil(Minute).ToList();
        var step = Assert.Single(frames, f => f.Kind == FrameKind.Clock);
        Assert.Equal(shift, step.Clock!.Value.Shift);
        var i = frames.IndexOf(step);
        Assert.InRange(frames[i + 1].Read.Earliest - frames[i - 1].Read.Latest, shift, shift + TimeSpan.FromSeconds(1));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void A_restart_of_the_bridge_leaves_a_gap_a_clock_frame_and_full_frames(bool known)
    {
        var frames = Poll(new BridgeRestart { When = When.At(TimeSpan.FromSeconds(30)), Duration = TimeSpan.FromSeconds(9), ShiftKnown = known }).PollUntil(Minute).ToList();
        var i = frames.FindIndex(f => f.Kind == FrameKind.Clock);
        Assert.Equal(known ? TimeSpan.Zero : null, frames[i].Clock!.Value.Shift);
        Assert.InRange((frames[i + 1].Read.Earliest - frames[i - 1].Read.Latest).TotalSeconds, 8.9, 9.2);
        Assert.Equal(FrameKind.Full, frames[i + 1].Kind);
    }

    [Fact]
    public void Slow_replies_make_wide_bounds_and_count_overruns_without_a_backlog()
    {
        var poller = Poll(new SlowReplies { When = When.At(TimeSpan.FromSeconds(10)), Duration = TimeSpan.FromSeconds(10), Delay = TimeSpan.FromMilliseconds(450) });
        var frames = poller.PollUntil(Minute).ToList();
        Assert.Contains(frames, f => f.Samples.Any(s => s.At.Width >= TimeSpan.FromMilliseconds(450)));
        Assert.True(poller.Overruns > 50);
        Assert.True(frames.Count(f => f.Group == 0) < 510 + 40);
    }

    [Fact]
    public void The_same_seed_gives_the_same_frames_to_the_byte()
    {
        Assert.Equal(Text(5), Text(5));
        Assert.NotEqual(Text(5), Text(6));

        static string Text(int seed)
        {
            var washer = new SimulatedWasher(Washer(seed, new DrainSensorChatter { When = When.At(TimeSpan.FromSeconds(20)), Duration = TimeSpan.FromSeconds(9) }));
            var text = new StringBuilder();
            foreach (var frame in new VirtualPoller(washer, new PollerOptions { Seed = seed, LostChance = 0.02, FailureChance = 0.01 }).PollUntil(TimeSpan.FromMinutes(4)))
            {
                text.Append(frame.Kind).Append(frame.Read).AppendJoin(';', frame.Samples).AppendLine();
            }

            return text.ToString();
        }
    }

    [Fact]
    public void How_often_a_washer_is_read_changes_nothing_in_it()
    {
        var often = new SimulatedWasher(Washer(3));
        foreach (var frame in new VirtualPoller(often, new PollerOptions()).PollUntil(TimeSpan.FromMinutes(10)))
        {
            Assert.Equal("w1", frame.Washer);
        }

        var once = new SimulatedWasher(Washer(3));
        once.AdvanceTo(often.Now);
        Assert.Equal(often.FinishedCycles.Select(c => c.End), once.FinishedCycles.Select(c => c.End));
        Assert.Equal(Enumerable.Range(0, once.Map.Count).Select(often.Read), Enumerable.Range(0, once.Map.Count).Select(once.Read));
    }

    private static VirtualPoller Poll(params Fault[] faults) => new(new SimulatedWasher(Washer(1, faults)), new PollerOptions());

    private static WasherOptions Washer(int seed, params Fault[] faults) =>
        DemoScenario.Washers[0].Options with { Id = "w1", Seed = seed, Faults = faults };
}
