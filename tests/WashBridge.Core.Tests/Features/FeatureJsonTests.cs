using System.Text.Json;
using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Features;

public sealed class FeatureJsonTests
{
    private static readonly string[] Names = ["timing", "drain-time/rinse/1", "spray-pressure/caustic/1-kegs", "step-time/rinse-after-caustic/2/wall-spray"];

    private static readonly Gen<Feature> AnyFeature = Gen.Select(
        Gen.Int[0, 3].Select(i => Names[i]),
        Gen.Int[0, 8],
        Gen.Double.Where(double.IsFinite),
        Gen.Double[0, 1e6],
        (name, station, value, uncertainty) => new Feature(name, station, value, uncertainty));

    /// <summary>A cycle has more than a hundred figures: each is a key and two numbers.</summary>
    [Fact]
    public void Figures_are_written_as_key_value_and_uncertainty_in_their_order()
    {
        var json = WashJson.Write(Measured([new Feature("drain-time/rinse/1", 2, 6.25, 0.125), new Feature("kegs", 0, 2, 0)]));
        Assert.Contains("""
            "figures":{"drain-time/rinse/1@2":[6.25,0.125],"kegs":[2,0]}
            """, json, StringComparison.Ordinal);
    }

    [Fact]
    public void What_was_written_comes_back_the_same_to_the_last_bit_and_the_byte() => AnyFeature.List[0, 30].Sample(figures =>
    {
        var json = WashJson.Write(Measured(figures));
        var back = Assert.IsType<CycleMeasured>(WashJson.ReadEvent(json));
        Assert.Equal(figures, back.Features.Figures);
        Assert.Equal(json, WashJson.Write(back));
    });

    [Theory]
    [InlineData("""{"kegs":[2]}""")]
    [InlineData("""{"kegs":[2,0,1]}""")]
    [InlineData("""{"kegs":2}""")]
    [InlineData("""{"kegs":["2",0]}""")]
    [InlineData("""{"drain-bounce@9":[2,0]}""")]
    [InlineData("""{"drain-bounce@":[2,0]}""")]
    [InlineData("""[2,0]""")]
    public void Anything_else_is_refused(string figures)
    {
        var json = WashJson.Write(Measured([])).Replace("\"figures\":{}", "\"figures\":" + figures, StringComparison.Ordinal);
        Assert.Contains(figures, json, StringComparison.Ordinal);
        Assert.Throws<JsonException>(() => WashJson.ReadEvent(json));
    }

    private static CycleMeasured Measured(IReadOnlyList<Feature> figures)
    {
        var at = Instant.Parse("2031-03-05T08:00:00Z");
        return new CycleMeasured
        {
            Id = "w1-1/measured",
            Washer = "w1",
            At = TimeBounds.At(at),
            Features = new CycleFeatures { Outcome = CycleOutcome.Completed, Started = at, Ended = at, Recipe = "r", RecipeVersion = 1, Kegs = [], Figures = figures },
        };
    }
}
