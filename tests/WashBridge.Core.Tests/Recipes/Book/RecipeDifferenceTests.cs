using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;

namespace WashBridge.Core.Tests.Recipes.Book;

public sealed class RecipeDifferenceTests
{
    private static readonly StepTime Hold = new() { Id = "hold", Title = "Sanitiser stands", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(34) };
    private static readonly TimeBeyond Hot = new() { Id = "hot", Signal = "temperature.caustic", Value = 60, Phases = ["caustic-wash"], AtLeast = TimeSpan.FromSeconds(12), SensorUncertainty = 0.2 };
    private static readonly DrainLimit Drains = new() { Id = "drains", AtMost = TimeSpan.FromSeconds(20) };
    private static readonly ResidualOxygen Oxygen = new() { Id = "oxygen", Phase = "purge", AtMost = 0.03, InPurgeGas = 0.0001 };
    private static readonly PhaseOrder Order = new() { Id = "order", Phases = ["rinse", "sanitise"] };
    private static readonly ThermalDose Dose = new() { Id = "dose", Method = DoseMethod.A0, Signal = "temperature.return", Phases = ["rinse"], AtLeast = 60 };
    private static readonly ContactTime Contact = new() { Id = "contact", From = new("sanitise", StepKind.WallSpray, EdgeSide.Start), To = new("sanitise", StepKind.Drain, EdgeSide.Start), AtLeast = TimeSpan.FromSeconds(41) };
    private static readonly SwingCount Swings = new() { Id = "swings", Phase = "purge", AtLeast = 3 };

    [Theory]
    [MemberData(nameof(Changes))]
    public void A_change_is_told_in_a_sentence_with_its_direction(Requirement left, Requirement right, string text, Direction direction)
    {
        var line = Assert.Single(RecipeDifference.Between(Of(left), Of(right)).Lines, l => l.Kind == LineKind.Requirement);
        Assert.Equal((LineChange.Changed, direction), (line.Change, line.Direction));
        Assert.Contains(text, line.Changes);

        // The way back goes the other way.
        var back = Assert.Single(RecipeDifference.Between(Of(right), Of(left)).Lines, l => l.Kind == LineKind.Requirement);
        Assert.Equal(direction switch { Direction.Stricter => Direction.Looser, Direction.Looser => Direction.Stricter, _ => direction }, back.Direction);
    }

    public static TheoryData<Requirement, Requirement, string, Direction> Changes { get; } = new()
    {
        { Hold, Hold with { AtLeast = TimeSpan.FromSeconds(40) }, "at least 40 s instead of 34 s", Direction.Stricter },
        { Hold, Hold with { AtMost = TimeSpan.FromSeconds(90) }, "at most 90 s, which was not asked before", Direction.Stricter },
        { Hold, Hold with { Total = true }, "counts all passes together instead of each alone", Direction.Looser },
        { Hold, Hold with { AtLeast = TimeSpan.FromSeconds(40), Total = true }, "at least 40 s instead of 34 s", Direction.Unclear },
        { Hold, Hold with { Title = "Dwell" }, "is called 'Dwell' instead of 'Sanitiser stands'", Direction.None },
        { Hold, Hold with { Step = StepKind.WallSpray }, "is of wall spray instead of hold", Direction.Unclear },
        { Hot, Hot with { Value = 55 }, "at or above 55 °C instead of at or above 60 °C", Direction.Looser },
        { Hot, Hot with { SensorUncertainty = 0.5 }, "a standard uncertainty of the sensor of 0.5 K instead of 0.2 K", Direction.Stricter },
        { Hot, Hot with { Phases = ["caustic-wash", "rinse"] }, "is of caustic-wash, rinse instead of caustic-wash", Direction.Looser },
        { Drains, Drains with { AtMost = TimeSpan.FromSeconds(25) }, "at most 25 s instead of 20 s", Direction.Looser },
        { Drains, Drains with { Phases = ["rinse"] }, "is of rinse instead of all phases", Direction.Looser },
        { Oxygen, Oxygen with { AtMost = 0.02 }, "at most 2 % instead of 3 %", Direction.Stricter },
        { Oxygen, Oxygen with { InPurgeGas = 0.0005 }, "in the purge gas 500 ppm instead of 100 ppm", Direction.Stricter },
        { Order, Order with { Phases = ["rinse", "purge", "sanitise"] }, "is of rinse, purge, sanitise instead of rinse, sanitise", Direction.Stricter },
        { Order, Order with { Phases = ["sanitise", "rinse"] }, "is of sanitise, rinse instead of rinse, sanitise", Direction.Unclear },
        { Dose, Dose with { AtLeast = 30 }, "at least 30 s instead of 60 s", Direction.Looser },
        { Contact, Contact with { EveryPass = true }, "every pass must have it instead of one", Direction.Stricter },
        { Swings, Swings with { AtLeast = 2 }, "at least 2 pressure swings instead of 3", Direction.Looser },
    };

    [Fact]
    public void What_is_added_is_stricter_and_what_is_gone_is_looser_and_stands_where_it_was()
    {
        var difference = RecipeDifference.Between(Of(Hold, Hot, Drains), Of(Drains, Oxygen, Hold));
        Assert.Equal(
            [("drains", LineChange.Same), ("oxygen", LineChange.Added), ("hold", LineChange.Same), ("hot", LineChange.Gone)],
            difference.Lines.Where(l => l.Kind == LineKind.Requirement).Select(l => (l.Id, l.Change)));
        Assert.Equal(Direction.Unclear, difference.Direction);
        Assert.True(difference.MayBeLooser);
    }

    [Fact]
    public void Setpoints_are_compared_with_their_units_and_tolerances()
    {
        var left = Of(Hold) with { Setpoints = new Dictionary<string, ApprovedSetpoint> { ["a"] = new(35, "s"), ["b"] = new(3, "s", 1), ["c"] = new(1, "s") } };
        var right = Of(Hold) with { Setpoints = new Dictionary<string, ApprovedSetpoint> { ["a"] = new(38, "s"), ["b"] = new(3, "s", 0.5), ["d"] = new(1, "s") } };
        var lines = RecipeDifference.Between(left, right).Lines.Where(l => l.Kind == LineKind.Setpoint).ToList();
        Assert.Equal([("a", Direction.None), ("b", Direction.Stricter), ("c", Direction.Looser), ("d", Direction.Stricter)], lines.Select(l => (l.Id, l.Direction)));
        Assert.Equal(["set to 38 s instead of 35 s"], lines[0].Changes);
    }

    [Fact]
    public void The_same_is_the_same() => Assert.True(RecipeDifference.Between(Of(Hold, Hot, Oxygen), Of(Hold, Hot, Oxygen) with { Version = 2 }).IsSame);

    [Fact]
    public void A_larger_accepted_risk_is_looser()
    {
        var difference = RecipeDifference.Between(Of(Hold) with { Rule = new(DecisionMethod.GuardBand, 0.01) }, Of(Hold) with { Rule = new(DecisionMethod.GuardBand, 0.05) });
        Assert.Equal(Direction.Looser, difference.Direction);
    }

    [Theory]
    [InlineData("Hold in sanitise: at least 34 s, in every pass.", 0)]
    [InlineData("temperature.caustic at or above 60 °C for at least 12 s during caustic-wash, sensor off by up to 0.4 K (twice its standard uncertainty).", 1)]
    [InlineData("Every drain is dry within 20 s.", 2)]
    [InlineData("Oxygen left after purge: at most 3 %, starting from 20.95 % with 100 ppm in the purge gas.", 3)]
    [InlineData("From the start of wall spray in sanitise to the start of drain in sanitise: at least 41 s, in one pass at least.", 4)]
    public void Requirements_are_sentences(string sentence, int which) => Assert.Equal(sentence, RecipeWords.Of(((Requirement[])[Hold, Hot, Drains, Oxygen, Contact])[which]));

    private static Recipe Of(params Requirement[] requirements) => new() { Id = "full", Version = 1, Requirements = requirements };
}
