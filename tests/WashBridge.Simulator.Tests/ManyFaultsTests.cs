using CsCheck;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests;

/// <summary>Faults on top of one another: the washer must come through, and the truth must stay consistent.</summary>
public sealed class ManyFaultsTests
{
    private static readonly TimeSpan Trouble = TimeSpan.FromMinutes(20);

    private static readonly Gen<Fault> AnyFault = Gen.Select(Gen.Int[0, 13], Gen.Int[0, 1199], Gen.Int[1, 90], Gen.Int[0, 2], Gen.Bool, (kind, at, seconds, station, flag) =>
    {
        var when = When.At(TimeSpan.FromSeconds(at));
        var duration = TimeSpan.FromSeconds(seconds);
        return (Fault)(kind switch
        {
            0 => new OperatorPause { When = when, Duration = duration },
            1 => new OperatorStop { When = when },
            2 => new PowerCut { When = when, Duration = duration },
            3 or 4 => new ControllerRestart { When = when, Duration = duration, Resumes = flag },
            5 => new DrainSensorStuck { When = when, Station = station, ReadsDry = flag, Duration = duration },
            6 => new DrainSensorChatter { When = when, Station = station, Duration = duration },
            7 => new BathEmpty { When = when, Bath = (BathKind)station, Duration = duration },
            8 => new LowCo2 { When = when, Bar = 1.5, Duration = duration },
            9 => new DrainClogging { When = when, Station = station, Initial = seconds / 300.0 },
            10 => new SetpointEdited { When = when, Setpoint = "sanitise.hold", Value = duration },
            11 => new PhaseSwitched { When = when, Phase = flag ? "caustic-wash" : "acid-wash", Enabled = station > 0 },
            12 => new ProgrammeSelected { When = when, Number = station + 1 },
            _ => new ConnectionLoss { When = when, Duration = duration },
        });
    });

    [Fact]
    public void A_washer_comes_through_any_heap_of_faults_and_its_truth_stays_consistent() =>
        Gen.Select(Gen.Int[1, 1_000_000], AnyFault.Array[0, 25]).Sample((seed, faults) =>
        {
            var washer = new SimulatedWasher(new WasherOptions
            {
                Id = "w1",
                Seed = seed,
                Programmes = [InventedProgrammes.Full, InventedProgrammes.WithoutAcid, InventedProgrammes.Repeated],
                Faults = [.. faults, new DrainCleaned { When = When.At(Trouble) }],
            });
            washer.AdvanceTo(Trouble + TimeSpan.FromMinutes(25));
            Assert.True(washer.FinishedCycles.Count(c => c.Start > Trouble && c.Outcome == TrueOutcome.Completed) >= 3);
            Assert.All(washer.FinishedCycles, Check);
            Assert.All(washer.FinishedCycles.Zip(washer.FinishedCycles.Skip(1)), pair =>
            {
                Assert.True(pair.First.End < pair.Second.Start);
                Assert.Equal(pair.First.CycleCount + 1, pair.Second.CycleCount);
            });
        }, iter: 40);

    /// <summary>The poller reads the sequence anew only when its signature has changed: that must never hide anything.</summary>
    [Fact]
    public void While_the_sequences_signature_is_the_same_no_signal_of_its_group_changes() =>
        Gen.Select(Gen.Int[1, 1_000_000], AnyFault.Array[0, 25]).Sample((seed, faults) =>
        {
            var washer = new SimulatedWasher(new WasherOptions
            {
                Id = "w1",
                Seed = seed,
                Stations = 1 + (seed % 8),
                Scan = TimeSpan.FromMilliseconds(100),
                Programmes = [InventedProgrammes.Full, InventedProgrammes.WithoutAcid, InventedProgrammes.Repeated],
                PausedCode = seed % 2 == 0,
                EmptyStationChance = 0.1,
                Faults = faults,
            });
            var signals = Enumerable.Range(0, washer.Map.Count).Where(i => washer.Map[i].Group == 0).ToArray();
            var (signature, values, changes) = (washer.Signature, Values(), 0);
            for (var t = TimeSpan.Zero; t < Trouble; t += washer.Options.Scan)
            {
                washer.AdvanceTo(t);
                var now = Values();
                if (!now.SequenceEqual(values))
                {
                    Assert.NotEqual(signature, washer.Signature);
                    changes++;
                }

                (signature, values) = (washer.Signature, now);
            }

            Assert.True(changes > 50);

            double[] Values() => [.. signals.Select(i => washer.Read(i).Number)];
        }, iter: 10);

    private static void Check(TrueCycle cycle)
    {
        var steps = cycle.Steps.ToList();
        Assert.Equal(cycle.Start, steps[0].Start);
        Assert.Equal(cycle.End, steps[^1].End);
        Assert.All(steps.Zip(steps.Skip(1)), pair => Assert.Equal(pair.First.End, pair.Second.Start));
        Assert.All(steps, s => Assert.True(s.Held >= TimeSpan.Zero && s.Paused >= TimeSpan.Zero));
        Assert.All(steps.SkipLast(1), s => Assert.False(s.Interrupted));
        Assert.Equal(cycle.Outcome != TrueOutcome.Completed, steps[^1].Interrupted);
        Assert.All(cycle.Pauses, p => Assert.True(cycle.Start <= p.Start && p.Start <= p.End && p.End <= cycle.End));
        Assert.Equal(cycle.Pauses.Sum(p => (p.End - p.Start)!.Value.Ticks), steps.Sum(s => s.Paused.Ticks));
        Assert.All(cycle.Drains, d => Assert.True(d.Start <= d.End && (d.FirstDry is null || (d.FirstDry >= d.Start && d.FirstDry <= d.End)) && (d.Dry is null || d.Dry >= d.FirstDry)));
        Assert.All(cycle.Kegs, k => Assert.InRange(k.Oxygen!.Value, 0, 0.2095 + 1e-9));
    }
}
