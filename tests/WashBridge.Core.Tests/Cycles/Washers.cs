using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>Invented washers for the segmenter's tests.</summary>
internal static class Washers
{
    public static readonly PhaseDefinition[] Programme =
    [
        new("rinse", PhaseKind.Rinse, [StepKind.WallSpray, StepKind.Drain]),
        new("caustic", PhaseKind.CausticWash, [StepKind.WallSpray, StepKind.Drain]),
        new("sanitise", PhaseKind.Sanitise, [StepKind.WallSpray, StepKind.Hold, StepKind.Drain]),
        new("purge", PhaseKind.Purge, [StepKind.Pressurise, StepKind.Vent]),
    ];

    /// <summary>
    /// Codes: 0 idle, 11-12 rinse, 21-22 caustic, 31-33 sanitise, 41-42 purge, 90 paused, 99 fault. Signals besides the step only as named.
    /// </summary>
    public static WasherModel Table(params string[] others) => new()
    {
        Washer = "w1",
        Stations = 2,
        Programme = Programme,
        Sequence = new StepTable(
            Programme.SelectMany((p, i) => p.Steps.Select((s, j) => (Code: (10 * (i + 1)) + j + 1, Position: new ProgrammePosition(p.Id, s)))).ToDictionary(c => c.Code, c => c.Position),
            new HashSet<int> { 0 },
            new HashSet<int> { 90 },
            new HashSet<int> { 99 }),
        Signals = [Signal("sequence.step"), .. others.Select(o => Signal(o))],
    };

    /// <summary>Spray valves tell the phases apart, but every drain looks like every other.</summary>
    public static WasherModel Rules() => new()
    {
        Washer = "w1",
        Stations = 1,
        Programme =
        [
            new("rinse", PhaseKind.Rinse, [StepKind.WallSpray, StepKind.Drain]),
            new("sanitise", PhaseKind.Sanitise, [StepKind.WallSpray, StepKind.Drain]),
            new("last-rinse", PhaseKind.Rinse, [StepKind.WallSpray, StepKind.Drain]),
            new("purge", PhaseKind.Purge, [StepKind.Pressurise, StepKind.Vent]),
        ],
        Sequence = new StepRules(
        [
            new StepRule([], default, new Dictionary<string, bool> { ["sequence.running"] = false }),
            new StepRule(["rinse", "last-rinse"], StepKind.WallSpray, new Dictionary<string, bool> { ["valve.water"] = true, ["valve.drain"] = false }),
            new StepRule(["sanitise"], StepKind.WallSpray, new Dictionary<string, bool> { ["valve.sanitiser"] = true }),
            new StepRule(["rinse", "sanitise", "last-rinse"], StepKind.Drain, new Dictionary<string, bool> { ["valve.drain"] = true, ["valve.water"] = false }),
            new StepRule(["purge"], StepKind.Pressurise, new Dictionary<string, bool> { ["valve.co2"] = true }),
            new StepRule(["purge"], StepKind.Vent, new Dictionary<string, bool> { ["valve.vent"] = true }),
        ]),
        Signals = [Signal("sequence.running"), Signal("valve.water"), Signal("valve.sanitiser"), Signal("valve.drain"), Signal("valve.co2"), Signal("valve.vent")],
    };

    private static Signal Signal(string name)
    {
        var station = char.IsDigit(name[^1]) && name != "valve.co2" ? name[^1] - '0' : 0;
        var plain = station > 0 ? name[..^1] : name;
        var definition = SignalCatalogue.Find(plain)!;
        return new Signal("w1", station, plain, definition.Type == SignalType.Quantity ? "s" : "", definition.Type);
    }
}
