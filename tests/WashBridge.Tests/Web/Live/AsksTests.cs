using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Web.Live;

namespace WashBridge.Tests.Web.Live;

/// <summary>What the recipe asks of the phase that runs, and how far it has come. Edges are a second wide, the last read is a tenth of a second old.</summary>
public sealed class AsksTests
{
    private static readonly Instant Begin = Instant.Parse("2031-03-05T08:00:00Z");

    private readonly WasherFold _fold = new(Washers.One);

    [Fact]
    public void A_hold_is_followed_from_nothing_over_doubt_to_its_limit()
    {
        Step("sanitise", 1, StepKind.WallSpray, 0);
        Assert.Equal((0.0, 0.0, AskStanding.Open), Of("Sanitiser stands in the keg", 5));
        Step("sanitise", 1, StepKind.Hold, 6);
        Assert.Equal(AskStanding.Open, Of("Sanitiser stands in the keg", 30).Standing);
        var (lower, upper, standing) = Of("Sanitiser stands in the keg", 40);
        Assert.Equal((33.9, 35.0, AskStanding.InDoubt), (Math.Round(lower, 3), Math.Round(upper, 3), standing));
        Assert.Equal(AskStanding.Reached, Of("Sanitiser stands in the keg", 42).Standing);
    }

    [Fact]
    public void A_contact_begins_with_its_edge_and_ends_with_the_other()
    {
        Step("sanitise", 1, StepKind.WallSpray, 0);
        Step("sanitise", 1, StepKind.Hold, 6);
        Assert.Equal(AskStanding.Reached, Of("Sanitiser touches the keg", 45).Standing);
        Step("sanitise", 1, StepKind.Drain, 44);
        var (lower, upper, _) = Of("Sanitiser touches the keg", 60);
        Assert.Equal((43.0, 45.0), (lower, upper));
    }

    [Fact]
    public void Passes_are_counted()
    {
        Step("caustic-wash", 1, StepKind.WallSpray, 0);
        Assert.Equal((1.0, 1.0, AskStanding.Open), Of("The caustic wash is repeated", 5));
        Step("caustic-wash", 2, StepKind.WallSpray, 20);
        Assert.Equal((2.0, 2.0, AskStanding.Reached), Of("The caustic wash is repeated", 25));
    }

    [Fact]
    public void What_lasts_longer_than_allowed_is_exceeded_only_when_that_is_certain()
    {
        Step("rinse", 1, StepKind.WallSpray, 0);
        Assert.Equal(AskStanding.Open, Of("No long rinse", 8).Standing);
        Assert.Equal(AskStanding.InDoubt, Of("No long rinse", 9.5).Standing);
        Assert.Equal(AskStanding.Exceeded, Of("No long rinse", 10.2).Standing);
    }

    [Fact]
    public void What_needs_samples_is_told_by_the_verdict_and_comes_last()
    {
        Step("caustic-wash", 1, StepKind.WallSpray, 0);
        var asks = Asks.Of(_fold.Now, Washers.One.Recipe, At(5));
        Assert.Equal(["The caustic wash is repeated", "The caustic bath is hot"], asks.Select(a => a.Requirement));
        Assert.False(asks[1].IsMeasured);
        Assert.Equal(12, asks[1].AtLeast);
    }

    [Fact]
    public void Between_cycles_nothing_is_asked()
    {
        Assert.Empty(Asks.Of(_fold.Now, Washers.One.Recipe, At(5)));
    }

    [Fact]
    public void Where_recipes_go_by_programme_and_no_programme_is_told_none_is_guessed()
    {
        var several = new WasherFold(Washers.One with { RecipesByProgramme = new Dictionary<int, Core.Recipes.Recipe> { [2] = Washers.One.Recipe with { Id = "two" } } });
        Assert.Null(Asks.RecipeOf(several.Now));
        several.Take(new Frame
        {
            Washer = "w", Group = 0, Kind = FrameKind.Full, Read = TimeBounds.At(At(0)),
            Samples = [new(new Signal("w", 0, "sequence.programme", "", SignalType.Integer), new SignalValue(2), Quality.Good, TimeBounds.At(At(0)))],
        });
        Assert.Equal("two", Asks.RecipeOf(several.Now)!.Id);
        Assert.Equal("r", Asks.RecipeOf(_fold.Now)!.Id);
    }

    private static Instant At(double seconds) => Begin + TimeSpan.FromSeconds(seconds);

    private static Edge Edge(double seconds) => new(new Moment(At(seconds - 1), At(seconds - 1), 0), new Moment(At(seconds), At(seconds), 0));

    private void Step(string phase, int pass, StepKind kind, double at) => _fold.Take(new StepStarted
    {
        Id = $"{phase}{pass}{kind}", Washer = "w", CycleId = "c", At = new TimeBounds(At(at - 1), At(at)), Phase = phase, PhaseKind = PhaseKind.Rinse, Pass = pass, Step = kind, Edge = Edge(at),
    });

    private (double Lower, double Upper, AskStanding Standing) Of(string requirement, double now)
    {
        _fold.Take(new Frame { Washer = "w", Group = 0, Kind = FrameKind.Changes, Read = new TimeBounds(At(now - 0.1), At(now)) });
        var ask = Assert.Single(Asks.Of(_fold.Now, Washers.One.Recipe, At(now)), a => a.Requirement == requirement);
        return (ask.Lower!.Value, ask.Upper!.Value, ask.Standing);
    }
}
