using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Core.Verdicts.Calculations;
using static WashBridge.Core.Tests.Verdicts.Asked;
using static WashBridge.Core.Tests.Verdicts.CycleScript;

namespace WashBridge.Core.Tests.Verdicts;

/// <summary>What must hold whatever happened: no proof without evidence, and less evidence never proves more.</summary>
public sealed class ProofProperties
{
    private static readonly Gen<StepKind> GenKind = Gen.OneOf(Gen.Const(StepKind.WallSpray), Gen.Const(StepKind.Hold), Gen.Const(StepKind.Drain));

    /// <summary>A phase of one to three passes of one to three steps, with whole and half seconds so that limits are often hit exactly.</summary>
    private static readonly Gen<List<List<(StepKind Kind, double Seconds)>>> GenPasses =
        Gen.Select(GenKind, Gen.Int[1, 40].Select(i => i * 0.5)).List[1, 3].List[1, 3];

    /// <summary>How far an edge is seen to lie before and after where it was, s.</summary>
    private static readonly Gen<(double, double)[]> GenSlack =
        Gen.Select(Gen.Int[0, 8].Select(i => i * 0.25), Gen.Int[0, 8].Select(i => i * 0.25)).Array[11];

    private static readonly Gen<Requirement> GenRequirement = Gen.OneOf(
        Gen.Select(GenKind, GenKind, Gen.Int[1, 60], Gen.Bool).Select((from, to, limit, every) => (Requirement)Contact(StartOf("wash", from), EndOf("wash", to), limit, everyPass: every)),
        Gen.Select(GenKind, GenKind, Gen.Int[1, 60]).Select((from, to, limit) => (Requirement)Contact(EndOf("wash", from), StartOf("wash", to), atMost: limit)),
        Gen.Int[1, 60].Select(limit => (Requirement)Contact(StartOf("wash"), EndOf("wash"), limit)),
        Gen.Select(GenKind, Gen.Int[1, 30], Gen.Bool).Select((step, limit, total) =>
            (Requirement)new StepTime { Id = "step", Phase = "wash", Step = step, AtLeast = Seconds(limit), Total = total }),
        Gen.Select(GenKind, Gen.Int[1, 30], Gen.Bool).Select((step, limit, total) =>
            (Requirement)new StepTime { Id = "step", Phase = "wash", Step = step, AtMost = Seconds(limit), Total = total }),
        Gen.Int[1, 4].Select(count => (Requirement)new PassCount { Id = "passes", Phase = "wash", AtLeast = count }));

    [Fact]
    public void Bounds_never_contradict_the_truth() =>
        Gen.Select(GenPasses, GenSlack, GenRequirement).Sample((passes, slack, requirement) =>
        {
            var truth = Script(passes).Build();
            var seen = Widened(truth, slack);

            // With edges of no width the truth itself is judged, and always decided.
            var right = Result(truth, requirement).Verdict;
            Assert.NotEqual(Verdict.NotProven, right);
            Assert.Contains(Result(seen, requirement).Verdict, new[] { right, Verdict.NotProven });
        }, iter: 5_000);

    [Fact]
    public void Wider_edges_never_prove_more() =>
        Gen.Select(GenPasses, GenSlack, GenSlack, GenRequirement).Sample((passes, slack, more, requirement) =>
        {
            var seen = Widened(Script(passes).Build(), slack);

            var (narrow, wide) = (Result(seen, requirement), Result(Widened(seen, more), requirement));

            Assert.Contains(wide.Verdict, new[] { narrow.Verdict, Verdict.NotProven });
        }, iter: 5_000);

    [Fact]
    public void A_gap_never_proves_more() =>
        Gen.Select(GenPasses, GenSlack, Gen.Double[-5, 100], Gen.Double[3, 30], GenRequirement).Sample((passes, slack, from, length, requirement) =>
        {
            var seen = Widened(Script(passes).Build(), slack);
            var blind = seen with { Gaps = [new TimeBounds(Wall(from), Wall(from + length))] };

            Assert.Contains(Result(blind, requirement).Verdict, new[] { Result(seen, requirement).Verdict, Verdict.NotProven });
        }, iter: 5_000);

    [Fact]
    public void A_wider_pair_of_edges_around_the_same_middle_never_makes_the_guard_band_surer() =>
        Gen.Select(Gen.Double[-5, 5], Gen.Double[0, 4], Gen.Double[0, 4], Gen.Double[0, 2]).Sample((margin, a, b, more) =>
        {
            var narrow = ConformanceProbability.AtLeast(30, 30 + margin, a, b);
            var wide = ConformanceProbability.AtLeast(30, 30 + margin, a + more, b + more);
            Assert.True(Math.Abs(wide - 0.5) <= Math.Abs(narrow - 0.5) + 1e-12);
        });

    /// <summary>A temperature that is read now and then: the truth moves straight from reading to reading, and each reading errs by at most twice the uncertainty.</summary>
    private static readonly Gen<(double Gap, double Value, double Width, double When, double Error)[]> GenReadings =
        Gen.Select(Gen.Double[0.3, 14], Gen.Int[55, 95].Select(i => (double)i), Gen.Double[0, 0.5], Gen.Double[0, 1], Gen.Double[-1, 1]).Array[8, 30];

    [Fact]
    public void Time_beyond_and_dose_hold_the_truth_between_their_bounds() =>
        Gen.Select(GenReadings, Gen.Double[0, 1.5], GenSlack, Gen.Int[60, 90], Gen.Bool).Sample((readings, uncertainty, slack, value, below) =>
        {
            var (frames, truth) = Trace(readings, uncertainty);
            var cycle = Widened(new CycleScript { EdgeWidth = 0 }.Phase("rinse", PhaseKind.Rinse).Pass(new Step(StepKind.WallSpray, 10)).Phase("hot", PhaseKind.HeatSanitise).Pass(new Step(StepKind.Hold, 40)).Build(), slack);

            var time = Result(cycle, new TimeBeyond { Id = "t", Signal = "temperature.return", Value = value, Below = below, Phases = ["hot"], AtLeast = TimeSpan.FromSeconds(1), SensorUncertainty = uncertainty }, frames);
            var trueTime = truth.Integral(10, 50, t => (below ? t <= value : t >= value) ? 1 : 0);
            Assert.InRange(trueTime, time.Lower!.Value - 0.1, (time.Upper ?? double.PositiveInfinity) + 0.1);

            foreach (var method in new[] { DoseMethod.A0, DoseMethod.PasteurisationUnits })
            {
                var dose = Result(cycle, new ThermalDose { Id = "d", Method = method, Signal = "temperature.return", Phases = ["hot"], AtLeast = 1, SensorUncertainty = uncertainty }, frames);
                var trueDose = truth.Integral(10, 50, t => method == DoseMethod.A0 ? ThermalDoses.A0Rate(t) : ThermalDoses.PasteurisationRate(t) / 60);
                Assert.InRange(trueDose, (dose.Lower!.Value * 0.99) - 0.1, ((dose.Upper ?? double.PositiveInfinity) * 1.01) + 0.1);
            }
        }, iter: 300);

    [Fact]
    public void Frames_that_repeat_what_held_change_nothing() =>
        Gen.Select(GenReadings, Gen.Double[0, 1.5]).Sample((readings, uncertainty) =>
        {
            // Values in steps of 10, so that many readings hold what the one before had.
            var coarse = readings.Select(r => r with { Value = Math.Round(r.Value / 10) * 10, Error = 0 }).ToArray();
            var onChange = Trace(coarse, uncertainty).Frames;
            var verbose = Trace(coarse, uncertainty, isVerbose: true).Frames;
            var cycle = new CycleScript().Phase("hot", PhaseKind.HeatSanitise).Pass(new Step(StepKind.Hold, 40)).Build();
            var dose = new ThermalDose { Id = "d", Method = DoseMethod.A0, Signal = "temperature.return", Phases = ["hot"], AtLeast = 1, SensorUncertainty = uncertainty };

            Assert.Equal(Result(cycle, dose, verbose), Result(cycle, dose, onChange));
        }, iter: 1_000);

    [Fact]
    public void The_oxygen_that_is_really_left_is_never_above_the_upper_bound() =>
        Gen.Select(Gen.Select(Gen.Double[1.0, 1.4], Gen.Double[1.5, 4], Gen.Double[1, 6], Gen.Double[1, 6]).Array[1, 4], Gen.Double[0.05, 2], Gen.Double[0, 0.05], Gen.Double[-1, 1], Gen.Double[0, 1e-3])
            .Sample((swings, every, uncertainty, error, inGas) =>
            {
                var script = new CycleScript { EdgeWidth = 0.2 }.Phase("purge", PhaseKind.Purge);
                var (knots, oxygen, at) = (new List<(double, double)> { (-5, swings[0].Item1) }, 0.2095, 0.0);
                for (var i = 0; i < swings.Length; i++)
                {
                    // A vent ends where the next fill begins.
                    var (low, high, fill, vent) = swings[i];
                    script.Pass(new Step(StepKind.Pressurise, fill), new Step(StepKind.Vent, vent));
                    knots.AddRange([(at, low), (at + fill, high), (at + fill + vent, swings[(i + 1) % swings.Length].Item1)]);
                    at += fill + vent;
                }

                var pressure = new Course(knots);
                for (var i = 0; i < swings.Length; i++)
                {
                    var start = script.Build().Phases[0].Passes[i].Steps[0];
                    var (from, to) = (Middle(start.Start), Middle(start.End));
                    oxygen = PurgeOxygen.AfterSwing(oxygen, inGas, pressure.At(from), pressure.At(to));
                }

                var frames = (new TraceScript("pressure.keg", "bar(a)") { Every = every, To = at + 2 }).Of(t => pressure.At(t) + (2 * uncertainty * error));
                var result = script.Judged(new ResidualOxygen { Id = "o", Phase = "purge", AtMost = 0.01, InPurgeGas = inGas, SensorUncertainty = uncertainty }, frames: frames);

                Assert.InRange(oxygen, 0, result.Upper!.Value + 1e-9);
                Assert.True(result.Verdict != Verdict.Met || oxygen <= 0.01);
            }, iter: 1_000);

    private static double Middle(Edge edge) =>
        ((edge.Earliest.Steady - Origin).TotalSeconds + (edge.Latest.Steady - Origin).TotalSeconds) / 2;

    private static CycleScript Script(List<List<(StepKind Kind, double Seconds)>> passes)
    {
        var script = new CycleScript { EdgeWidth = 0 }.Phase("wash", PhaseKind.CausticWash);
        foreach (var pass in passes)
        {
            script.Pass([.. pass.Select(s => new Step(s.Kind, s.Seconds))]);
        }

        return script;
    }

    private static RequirementResult Result(CycleRecord cycle, Requirement requirement, IReadOnlyList<Frame>? frames = null) =>
        Judge.Decide(cycle, frames ?? [], Recipe(requirement), [])[0].Results[0];

    /// <summary>The same cycle seen less sharply: every edge lies as much wider as the slack of its number says.</summary>
    private static CycleRecord Widened(CycleRecord cycle, (double Before, double After)[] slack)
    {
        var numbers = new Dictionary<Edge, int>();
        Edge Wide(Edge edge)
        {
            numbers.TryAdd(edge, numbers.Count % slack.Length);
            var (before, after) = slack[numbers[edge]];
            return new Edge(Moved(edge.Earliest, -before), Moved(edge.Latest, after));
        }

        return cycle with
        {
            Start = Wide(cycle.Start),
            End = Wide(cycle.End),
            Phases = [.. cycle.Phases.Select(p => p with
            {
                Start = Wide(p.Start),
                End = Wide(p.End),
                Passes = [.. p.Passes.Select(pass => pass with { Steps = [.. pass.Steps.Select(s => s with { Start = Wide(s.Start), End = Wide(s.End), Held = Wide(s.Start).Until(Wide(s.End)) })] })],
            })],
        };
    }

    private static Moment Moved(Moment moment, double seconds) =>
        moment with { Wall = moment.Wall + TimeSpan.FromSeconds(seconds), Steady = moment.Steady + TimeSpan.FromSeconds(seconds) };

    private static (IReadOnlyList<Frame> Frames, Course Truth) Trace((double Gap, double Value, double Width, double When, double Error)[] readings, double uncertainty, bool isVerbose = false)
    {
        var signal = new Signal("w1", 1, "temperature.return", "Cel", SignalType.Quantity);
        var (frames, knots, at, last) = (new List<Frame>(), new List<(double, double)>(), -10.0, double.NaN);
        foreach (var (gap, value, width, when, error) in readings)
        {
            at += gap;
            var read = new TimeBounds(Wall(at), Wall(at + width));
            var shown = value + (2 * uncertainty * error);
            knots.Add((at + (width * when), value));
            frames.Add(new Frame
            {
                Washer = "w1", Group = 1, Kind = frames.Count == 0 ? FrameKind.Full : FrameKind.Changes, Read = read,
                Samples = isVerbose || shown != last ? [new Sample(signal, new SignalValue(shown), Quality.Good, read)] : [],
            });
            (at, last) = (at + width, shown);
        }

        return (frames, new Course(knots));
    }

    /// <summary>Straight lines between points.</summary>
    private sealed class Course(List<(double At, double Value)> knots)
    {
        public double At(double t)
        {
            var next = knots.FindIndex(k => k.At > t);
            if (next <= 0)
            {
                return next == 0 ? knots[0].Value : knots[^1].Value;
            }

            var (a, b) = (knots[next - 1], knots[next]);
            return a.Value + ((b.Value - a.Value) * (t - a.At) / (b.At - a.At));
        }

        public double Integral(double from, double to, Func<double, double> rate)
        {
            const int n = 4000;
            var step = (to - from) / n;
            return Enumerable.Range(0, n).Sum(i => rate(At(from + ((i + 0.5) * step)))) * step;
        }
    }
}
