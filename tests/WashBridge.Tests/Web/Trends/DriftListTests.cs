using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting;
using WashBridge.Web.Pages.Drifting;
using WashBridge.Web.Trends;

namespace WashBridge.Tests.Web.Trends;

public sealed class DriftListTests
{
    private static readonly Site Site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;

    [Fact]
    public void What_leads_to_a_stop_comes_first_and_what_ended_is_apart()
    {
        var list = List(
            Washing.Drift(5, "level/acid", size: -5),
            Washing.Drift(6, "drain-index@2"),
            Washing.Forecast(7, Washing.Valve2, ForecastState.Approaching, 100),
            Washing.Drift(8, "heater-time/caustic"),
            Washing.DriftEnded(9, "heater-time/caustic"));
        Assert.Equal(["drain-index@2", "level/acid"], list.Standing.Select(c => c.Main.Finding.Feature));
        Assert.Equal("drain-valve@2", Assert.Single(list.Standing[0].Parts).Forecast.Component.Key);
        Assert.Equal("heater-time/caustic", Assert.Single(list.Ended).Finding.Feature);
    }

    [Fact]
    public void Of_two_stations_their_difference_is_told_with_the_figure_and_not_as_another_drift()
    {
        var card = Assert.Single(List(Washing.Drift(5, "peers/drain-index@1", size: -0.5, centre: 0), Washing.Drift(6, "drain-index@2")).Standing);
        Assert.Equal("drain-index@2", card.Main.Finding.Feature);
        Assert.Equal("peers/drain-index@1", Assert.Single(card.Also).Finding.Feature);
    }

    [Theory]
    [InlineData("drain-index@2", 0.5, true)]
    [InlineData("drain-index@2", -0.5, false)]
    [InlineData("peers/purge-high@1", -0.5, true)]
    [InlineData("strength/caustic", -0.5, true)]
    [InlineData("strength/caustic", 0.5, false)]
    [InlineData("timing", 0.5, null)]
    public void A_drift_is_to_the_bad_side_or_to_the_good_one_or_to_neither(string figure, double size, bool? isBad) =>
        Assert.Equal(isBad, FigureSide.IsBad(Washing.Drift(5, figure, size).Finding));

    [Fact]
    public void A_share_is_told_only_where_zero_means_nothing()
    {
        Assert.Equal(0.5, FigureSide.Share(Washing.Drift(5, "drain-time/rinse/1@2", 5, 10, unit: "s").Finding));
        Assert.Null(FigureSide.Share(Washing.Drift(5, "temperature-mean/caustic", 5, 70, unit: "Cel").Finding));
        Assert.Null(FigureSide.Share(Washing.Drift(5, "peers/purge-high@1", 0.5, 1).Finding));
        Assert.Null(FigureSide.Share(Washing.Drift(5, "drain-bounce@1", 0.5, 0.01, spread: 0.1).Finding));
    }

    [Fact]
    public void Whether_the_recipe_is_met_the_verdicts_of_the_requirement_say_that_the_figure_tells_of()
    {
        var recipe = Site.Washers[0].Recipe;
        Assert.Equal(["drains"], RecipeBearing.Of(recipe, "peers/drain-index@1").Select(r => r.Id));
        Assert.Equal(["hot-caustic"], RecipeBearing.Of(recipe, "temperature-mean/caustic").Select(r => r.Id));
        Assert.Equal(["purge-swings", "oxygen"], RecipeBearing.Of(recipe, "purge-high@2").Select(r => r.Id));
        Assert.Equal(["sanitiser-hold"], RecipeBearing.Of(recipe, "step-excess/sanitise/1/hold").Select(r => r.Id).Where(id => id == "sanitiser-hold"));
        Assert.Empty(RecipeBearing.Of(recipe, "temperature-mean/acid"));
        Assert.Empty(RecipeBearing.Of(recipe, "air-pressure"));
        var tally = Assert.Single(DriftEvidence.Of(RecipeBearing.Of(recipe, "drain-index@2"), [Judged(Verdict.Met), Judged(Verdict.Met), Judged(Verdict.NotMet), Judged(Verdict.NotProven)]).Requirements);
        Assert.Equal((2, 1, 1), (tally.Met, tally.NotMet, tally.NotProven));
    }

    [Fact]
    public void Only_limits_of_the_same_quantity_belong_into_a_figures_picture()
    {
        var recipe = Site.Washers[0].Recipe;
        Assert.Equal((20.0, LimitOrigin.RecipeAtMost), Limit("drain-time/rinse/1@2"));
        Assert.Equal((60.0, LimitOrigin.RecipeAtLeast), Limit("temperature-mean/caustic"));
        Assert.Equal((12.0, LimitOrigin.RecipeAtLeast), Limit("temperature-above/caustic"));
        Assert.Empty(FigureLimits.Of("peers/drain-time/rinse/1@2", recipe, []));
        Assert.Empty(FigureLimits.Of("heater-time/caustic", recipe, []));
        Assert.Equal((3.0, LimitOrigin.Part), FigureLimits.Of("drain-index@2", recipe, [ForecastLine.OfOne([Washing.Forecast(3, Washing.Valve2, ForecastState.Approaching, 10)])]).Select(l => (l.Value, l.Origin)).Single());

        (double, LimitOrigin) Limit(string figure) => FigureLimits.Of(figure, recipe, []).Select(l => (l.Value, l.Origin)).Single();
    }

    private static KegVerdict Judged(Verdict verdict) => new()
    {
        KegId = "K1", KegIdSource = KegIdSource.Tag, CycleId = "c", Washer = "north", Station = 2, Recipe = "full-wash", RecipeVersion = 1, Rule = DecisionRule.Bounds, Verdict = verdict,
        Results = [new RequirementResult { Requirement = "drains", Verdict = verdict, Evidence = "" }, new RequirementResult { Requirement = "oxygen", Verdict = Verdict.Met, Evidence = "" }],
    };

    private static DriftList List(params WashEvent[] findings) => DriftList.Of(
        new Findings([.. DriftLine.Of(findings)], ForecastLine.Of(findings), [.. DeviationLine.Of(findings)], []), Site, null);
}
