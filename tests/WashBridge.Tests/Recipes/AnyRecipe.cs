using System.Globalization;
using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;

namespace WashBridge.Tests.Recipes;

/// <summary>Any recipe that can be written in a file, with awkward names, texts and numbers.</summary>
internal static class AnyRecipe
{
    private static readonly Gen<string> Id = Gen.OneOf(
        One("true", "null", "false", "e", "y", "no", "on", "x-1", "hold"),
        Gen.Select(Gen.Char['a', 'z'], Gen.String[Gen.OneOf(Gen.Char['a', 'z'], Gen.Char['0', '9'], Gen.Const('-')), 0, 39]).Select((first, rest) => first + rest));

    private static readonly Gen<string> Line = Gen.OneOf(
        One("no", "1.5", "a: b", "# not a comment", "it's \"so\"", " blank ahead", "-", "&anchor", "*alias", "{a}", "café 90 %", "long — dash", "\u0085next\u2028line\uFEFF", "back\\slash", "emoji \U0001F37A", "~", "'"),
        Gen.String[Gen.OneOf(Gen.Char[' ', '~'], Gen.Char['\u00a0', '\u2fff']), 1, 200]);

    private static readonly Gen<string> Title = Gen.OneOf(Gen.Const(""), Line);
    private static readonly Gen<string> Phase = Id;
    private static readonly Gen<IReadOnlyList<string>> Phases = Phase.List[1, 5].Select(p => (IReadOnlyList<string>)p);
    private static readonly Gen<string> Setpoint = One("sanitise.hold", "1.5", "rinse.wall-spray", "0x1", "true", "9", "a.b.c.d.e");
    private static readonly Gen<string> Unit = One("s", "Cel", "%", "{RLU}", "#", "°C", "L/min", "bar(a)", "1", "true");

    /// <summary>As people write numbers: a few decimals, sometimes many, sometimes huge.</summary>
    private static readonly Gen<double> Number = Gen.OneOf(
        Gen.Select(Gen.Int[-100_000, 100_000], Gen.Int[0, 5]).Select((n, d) => double.Parse(string.Create(CultureInfo.InvariantCulture, $"{n}e-{d}"), CultureInfo.InvariantCulture) + 0.0),
        Gen.Double[-1e6, 1e6],
        One(1e-9, 1.25e21, -3.5e-7, double.MaxValue, double.Epsilon)).Where(n => n != 0 || !double.IsNegative(n));

    private static readonly Gen<double> Uncertainty = Gen.OneOf(Gen.Const(0.0), Number.Select(Math.Abs));

    /// <summary>As the binder reads it: a number of per cent or ppm, divided.</summary>
    private static readonly Gen<double> Fraction = Gen.OneOf(
        Gen.Int[1, 9999].Select(n => (n / 100.0) / 100), Gen.Int[1, 999].Select(n => n / 1e6), Gen.Double[0.001, 99.99].Select(p => p / 100), Gen.Const(0.2095));

    private static readonly Gen<TimeSpan> Time = Gen.OneOf(
        Gen.Int[1, 86_400].Select(s => TimeSpan.FromSeconds(s)), Gen.Int[100, 100_000].Select(ms => TimeSpan.FromMilliseconds(ms)), Gen.Long[TimeSpan.TicksPerSecond / 10, TimeSpan.TicksPerDay].Select(TimeSpan.FromTicks));

    private static readonly Gen<string> Quantity = One([.. SignalCatalogue.All.Where(d => d is { Type: SignalType.Quantity, Unit.Length: > 0 }).Select(d => d.Name)]);

    private static readonly Gen<EdgeName> Edge = Gen.Select(Phase, Gen.Enum<StepKind>(), Gen.Bool, Gen.Enum<EdgeSide>()).Select((phase, step, whole, side) => new EdgeName(phase, whole ? null : step, side));

    private static readonly Gen<(TimeSpan? AtLeast, TimeSpan? AtMost)> Limits = Gen.Select(Time, Time, Gen.Int[0, 2]).Select((a, b, which) => which switch
    {
        0 => (a, (TimeSpan?)null),
        1 => ((TimeSpan?)null, (TimeSpan?)b),
        _ => (a < b ? a : b, (TimeSpan?)(a < b ? b : a)),
    });

    private static readonly Gen<Requirement> Requirement = Gen.OneOf<Requirement>(
        Gen.Select(Edge, Edge, Limits, Gen.Bool).Select((from, to, limits, every) => (Requirement)new ContactTime { Id = "", From = from, To = to, AtLeast = limits.AtLeast, AtMost = limits.AtMost, EveryPass = every }),
        Gen.Select(Phase, Gen.Enum<StepKind>(), Limits, Gen.Bool).Select((phase, step, limits, total) => (Requirement)new StepTime { Id = "", Phase = phase, Step = step, AtLeast = limits.AtLeast, AtMost = limits.AtMost, Total = total }),
        Gen.Select(Quantity, Number, Gen.Bool, Phases, Time, Uncertainty).Select((signal, value, below, phases, time, uncertainty) =>
            (Requirement)new TimeBeyond { Id = "", Signal = signal, Value = value, Below = below, Phases = phases, AtLeast = time, SensorUncertainty = uncertainty }),
        Gen.Select(Phase, Gen.Int[1, 100]).Select((phase, count) => (Requirement)new PassCount { Id = "", Phase = phase, AtLeast = count }),
        Gen.Select(Phase, Gen.Int[1, 100]).Select((phase, count) => (Requirement)new SwingCount { Id = "", Phase = phase, AtLeast = count }),
        Phases.Select(phases => (Requirement)new PhaseOrder { Id = "", Phases = phases }),
        Gen.Select(Time, Phase.List[0, 3]).Select((time, phases) => (Requirement)new DrainLimit { Id = "", AtMost = time, Phases = phases }),
        Gen.Select(Phase, Fraction, Fraction, Gen.OneOf(Gen.Const(0.0), Fraction), Uncertainty).Select((phase, most, initial, inGas, uncertainty) =>
            (Requirement)new ResidualOxygen { Id = "", Phase = phase, AtMost = most, Initial = initial, InPurgeGas = inGas, SensorUncertainty = uncertainty }),
        Gen.Select(Gen.Enum<DoseMethod>(), Phases, Time, Uncertainty).Select((method, phases, time, uncertainty) => (Requirement)new ThermalDose
        {
            Id = "", Method = method, Signal = "temperature.return", Phases = phases, AtLeast = method == DoseMethod.A0 ? time.TotalSeconds : time.TotalMinutes, SensorUncertainty = uncertainty,
        }));

    private static readonly Gen<DecisionRule> Rule = Gen.OneOf(Gen.Const(DecisionRule.Bounds), Gen.Int[1, 4999].Select(n => new DecisionRule(DecisionMethod.GuardBand, n / 10_000.0)));

    public static Gen<Recipe> Any { get; } =
        Gen.Select(Id, Gen.Int[1, 1_000_000], Title, Rule, Gen.Select(Id, Title, Requirement).Array[1, 12], Gen.Select(Setpoint, Number, Unit, Uncertainty).Array[0, 6]).Select((id, version, title, rule, requirements, setpoints) => new Recipe
        {
            Id = id,
            Version = version,
            Title = title,
            Rule = rule,
            Requirements = [.. requirements.DistinctBy(r => r.Item1).Select(r => r.Item3 with { Id = r.Item1, Title = r.Item2 })],
            Setpoints = setpoints.DistinctBy(s => s.Item1).ToDictionary(s => s.Item1, s => new ApprovedSetpoint(s.Item2, s.Item3, s.Item4)),
        });

    internal static Gen<T> One<T>(params T[] choices) => Gen.Int[0, choices.Length - 1].Select(i => choices[i]);
}
