using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Tests.Verdicts;

public sealed class JudgeabilityTests
{
    private static readonly Recipe Recipe = Asked.Recipe(
        new StepTime { Id = "hold", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(30) },
        new DrainLimit { Id = "drain", AtMost = TimeSpan.FromSeconds(20) },
        new TimeBeyond { Id = "warm", Signal = "temperature.sanitiser", Value = 20, Phases = ["sanitise"], AtLeast = TimeSpan.FromSeconds(40) },
        new ResidualOxygen { Id = "oxygen", Phase = "purge", AtMost = 0.01 });

    private static WasherModel Washer(SequenceRule sequence, params (int Station, string Name)[] signals) => new()
    {
        Washer = "w1",
        Stations = 2,
        Programme = [],
        Sequence = sequence,
        Signals = [.. signals.Select(s => new Signal("w1", s.Station, s.Name, "", SignalType.Quantity))],
    };

    private static readonly StepTable Table = new(
        new Dictionary<int, ProgrammePosition> { [1] = new("sanitise", StepKind.Hold), [2] = new("sanitise", StepKind.Drain), [3] = new("purge", StepKind.Pressurise) },
        new HashSet<int> { 0 }, new HashSet<int>(), new HashSet<int>());

    [Fact]
    public void A_full_map_can_judge_everything() => Assert.All(
        Judgeability.Explain(Recipe, Washer(Table, (0, "sequence.step"), (1, "drain.dry"), (2, "drain.dry"), (0, "temperature.sanitiser"), (0, "pressure.keg"))),
        c => Assert.Equal((true, "Can be judged."), (c.CanJudge, c.Explanation)));

    [Fact]
    public void What_is_missing_is_named_by_signal_and_station()
    {
        var coverage = Judgeability.Explain(Recipe, Washer(Table, (0, "sequence.step"), (1, "drain.dry"), (1, "pressure.keg"), (2, "pressure.keg")));

        Assert.Equal([true, false, false, true], coverage.Select(c => c.CanJudge));
        Assert.Equal(["drain.dry of station 2"], coverage[1].Missing);
        Assert.Equal("Cannot be judged: the map lacks temperature.sanitiser.", coverage[2].Explanation);
    }

    [Fact]
    public void A_shared_drain_sensor_is_told() => Assert.Contains(
        "one drain sensor", Judgeability.Explain(Recipe, Washer(Table, (0, "sequence.step"), (0, "drain.dry")))[1].Explanation, StringComparison.Ordinal);

    [Fact]
    public void A_step_to_which_no_code_leads_is_never_seen()
    {
        var table = Table with { Codes = new Dictionary<int, ProgrammePosition> { [1] = new("sanitise", StepKind.Drain) } };

        var coverage = Judgeability.Explain(Recipe, Washer(table, (0, "sequence.step")));

        Assert.Equal(["a step code or rule for hold in sanitise"], coverage[0].Missing);
    }

    [Fact]
    public void Rules_need_every_signal_they_name()
    {
        var rules = new StepRules([new StepRule(["sanitise"], StepKind.Hold, new Dictionary<string, bool> { ["valve.sanitiser"] = false, ["sequence.running"] = true })]);

        var coverage = Judgeability.Explain(Recipe, Washer(rules, (0, "sequence.running")));

        Assert.Equal(["valve.sanitiser"], coverage[0].Missing);
    }
}
