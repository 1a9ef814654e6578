using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;

namespace WashBridge.Tests.Web.Live;

/// <summary>A small washer for what needs no controller.</summary>
internal static class Washers
{
    /// <summary>Two stations, three phases, two groups; a fault code, a programme number and a measured caustic bath.</summary>
    public static WasherConfiguration One { get; } = new()
    {
        Model = new WasherModel
        {
            Washer = "w",
            Stations = 2,
            Programme =
            [
                new("rinse", PhaseKind.Rinse, [StepKind.WallSpray, StepKind.Drain]),
                new("caustic-wash", PhaseKind.CausticWash, [StepKind.WallSpray, StepKind.Drain]),
                new("sanitise", PhaseKind.Sanitise, [StepKind.WallSpray, StepKind.Hold, StepKind.Drain]),
            ],
            Sequence = new StepTable(new Dictionary<int, ProgrammePosition>(), new HashSet<int> { 0 }, new HashSet<int>(), new HashSet<int> { 9 }),
            Signals =
            [
                new("w", 0, "sequence.step", "", SignalType.Integer), new("w", 0, "sequence.fault", "", SignalType.Flag), new("w", 0, "sequence.programme", "", SignalType.Integer),
                new("w", 0, "conductivity.caustic", "mS/cm", SignalType.Quantity),
            ],
        },
        Connection = new ModbusConnection { Host = "localhost" },
        Groups = [new(0, "sequence", TimeSpan.FromSeconds(1), TimeSpan.FromMinutes(1)), new(1, "measurements", TimeSpan.FromSeconds(1), TimeSpan.FromMinutes(1))],
        Tags = [],
        Recipe = new Recipe
        {
            Id = "r",
            Version = 1,
            Requirements =
            [
                new StepTime { Id = "hold", Title = "Sanitiser stands in the keg", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(34) },
                new ContactTime
                {
                    Id = "contact", Title = "Sanitiser touches the keg", AtLeast = TimeSpan.FromSeconds(41),
                    From = new EdgeName("sanitise", StepKind.WallSpray, EdgeSide.Start), To = new EdgeName("sanitise", StepKind.Drain, EdgeSide.Start),
                },
                new PassCount { Id = "passes", Title = "The caustic wash is repeated", Phase = "caustic-wash", AtLeast = 2 },
                new StepTime { Id = "short", Title = "No long rinse", Phase = "rinse", Step = StepKind.WallSpray, AtMost = TimeSpan.FromSeconds(10) },
                new TimeBeyond { Id = "hot", Title = "The caustic bath is hot", Phases = ["caustic-wash"], Signal = "temperature.caustic", Value = 60, AtLeast = TimeSpan.FromSeconds(12) },
                new DrainLimit { Id = "drains", AtMost = TimeSpan.FromSeconds(20) },
            ],
        },
    };
}
