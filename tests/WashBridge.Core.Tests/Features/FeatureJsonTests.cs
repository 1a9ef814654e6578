using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Features;

public sealed class FeatureJsonTests
{
    /// <summary>A cycle has more than a hundred figures: what follows from the name is not written with each of them.</summary>
    [Fact]
    public void A_figure_is_written_by_its_own_fields_only_and_comes_back_the_same()
    {
        var at = Instant.Parse("2031-03-05T08:00:00Z");
        var measured = new CycleMeasured
        {
            Id = "w1-1/measured",
            Washer = "w1",
            At = TimeBounds.At(at),
            Features = new CycleFeatures
            {
                Outcome = CycleOutcome.Completed,
                Started = at,
                Ended = at,
                Recipe = "r",
                RecipeVersion = 1,
                Kegs = [],
                Figures = [new Feature("drain-time/rinse/1", 2, 6.25, 0.125)],
            },
        };
        var json = WashJson.Write(measured);
        Assert.Contains("""{"name":"drain-time/rinse/1","station":2,"value":6.25,"uncertainty":0.125}""", json, StringComparison.Ordinal);
        Assert.Equal(measured.Features.Figures, Assert.IsType<CycleMeasured>(WashJson.ReadEvent(json)).Features.Figures);
    }
}
