using WashBridge.Analysis.Upkeep.Forecasting;

namespace WashBridge.Analysis.Tests.Upkeep;

public sealed class WearForecasterTests
{
    [Theory]
    [InlineData(0.25)]
    [InlineData(0.5)]
    [InlineData(0.75)]
    [InlineData(0.9)]
    public void Eighty_per_cent_intervals_hold_about_eighty_per_cent_of_invented_lives(double share)
    {
        // 300 lives: three standard errors of the count are 0.07. Of some nothing is foretold, because they have just recovered.
        var outlooks = Enumerable.Range(5_000, 300).Select(SimulatedLife.Of)
            .Select(life => (Left: life.End - life.At(share), Outlook: WearForecaster.Forecast(life.Question(life.At(share)))))
            .Where(o => o.Outlook is not null)
            .ToList();
        Assert.InRange(outlooks.Count, 285, 300);
        Assert.InRange(outlooks.Count(o => o.Outlook!.Lower <= o.Left && o.Left <= o.Outlook.Upper) / (double)outlooks.Count, 0.73, 0.90);
    }

    [Fact]
    public void At_half_life_the_median_is_a_quarter_off_at_most_in_half_of_the_lives()
    {
        var errors = Enumerable.Range(6_000, 200).Select(SimulatedLife.Of).Select(life =>
        {
            var now = life.At(0.5);
            return Math.Abs(WearForecaster.Forecast(life.Question(now))!.Median - (life.End - now)) / (life.End - now);
        }).Order().ToList();
        Assert.InRange(errors[100], 0, 0.25);
    }

    /// <summary>Lu and Meeker (1993): 15 of the 21 test pieces reached the limit; each is foretold from its own past only.</summary>
    [Fact]
    public void Published_cracks_are_foretold_from_half_of_their_lives()
    {
        var cracks = CrackGrowth.Read(Path.Combine(AppContext.BaseDirectory, "Upkeep", "fatigue.csv")).Where(c => c.End is not null).ToList();
        Assert.Equal(15, cracks.Count);
        var held = cracks.Count(c =>
        {
            var (outlook, left) = (WearForecaster.Forecast(c.Question(0.5))!, 0.5 * c.End!.Value);
            return outlook.Lower <= left && left <= outlook.Upper;
        });
        Assert.InRange(held, 10, 15);
    }

    [Fact]
    public void What_gets_faster_is_foretold_sooner_than_a_straight_line_would()
    {
        // An opening that closes in 1,000 cycles; the limit is three times the drain time, after 667.
        var blocks = Enumerable.Range(0, 40).Select(i => new WearBlock((10 * i) + 5, 1 / (1 - (((10 * i) + 5) / 1000.0)), 10, 0.01)).ToList();
        var outlook = WearForecaster.Forecast(new WearQuestion(blocks, 1, 3, 400))!;
        Assert.InRange(outlook.Median, 240, 300);

        // Straight on from the last slope: 3 less 1.65 over 0.0027 is 500.
        Assert.InRange(267, outlook.Lower, outlook.Upper);
        Assert.True(outlook.Power < 0);
    }

    [Fact]
    public void An_index_that_falls_is_foretold_like_one_that_rises()
    {
        var falling = Enumerable.Range(0, 30).Select(i => new WearBlock((10 * i) + 5, 5 - (0.01 * i) + (0.002 * (i % 3)), 10, 0.01)).ToList();
        var outlook = WearForecaster.Forecast(new WearQuestion(falling, 5, 4.4, 300))!;
        Assert.InRange(outlook.Median, 270, 340);
        Assert.True(outlook.Slope < 0);
        Assert.InRange(outlook.ChanceProbability, 0, 1e-6);
    }

    [Fact]
    public void A_trend_that_has_just_begun_is_found_after_a_long_rest()
    {
        var series = new WearSeries();
        var random = new Random(4);
        for (var cycle = 0; cycle < 20_600; cycle++)
        {
            series.Add(cycle, 1 + (0.02 * MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1)) + (Math.Max(0, cycle - 20_000) / 1000.0));
        }

        var outlook = WearForecaster.Forecast(new WearQuestion(series.Blocks, 1, 2, 20_600))!;
        Assert.InRange(outlook.Onset, 19_400, 20_200);
        Assert.InRange(400, outlook.Lower, outlook.Upper);
        Assert.InRange(outlook.Median, 280, 560);
    }

    /// <summary>Long even years before say little of how much an index scatters that wears.</summary>
    [Fact]
    public void A_rest_without_any_scatter_does_not_make_what_follows_look_rough()
    {
        var series = new WearSeries();
        var random = new Random(6);
        for (var cycle = 0; cycle < 10_500; cycle++)
        {
            var worn = Math.Max(0, cycle - 10_000) / 50.0;
            series.Add(cycle, worn * (1 + (0.15 * MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1))));
        }

        var outlook = WearForecaster.Forecast(new WearQuestion(series.Blocks, 0, 20, 10_500))!;
        Assert.InRange(outlook.Onset, 9_900, 10_100);
        Assert.InRange(500, outlook.Lower, outlook.Upper);
        Assert.InRange(outlook.Median, 400, 600);
    }

    [Fact]
    public void What_was_better_than_new_before_is_no_wear_since()
    {
        // Something made it better for a while, and ended; then it wears.
        var values = Enumerable.Range(0, 100).Select(i => i < 20 ? 1 : i < 50 ? 0.9 : i < 70 ? 1 : 1 + (0.01 * (i - 70)));
        var blocks = values.Select((v, i) => new WearBlock((10 * i) + 5, v + (0.002 * (i % 3)), 10, 0.005)).ToList();
        var outlook = WearForecaster.Forecast(new WearQuestion(blocks, 1, 1.6, 1_000))!;
        Assert.InRange(outlook.Onset, 650, 750);
        Assert.InRange(outlook.Median, 250, 350);
    }

    [Fact]
    public void Of_a_limit_that_was_learned_one_only_knows_that_it_was_not_met_yet()
    {
        var blocks = Enumerable.Range(0, 40).Select(i => new WearBlock((10 * i) + 5, 1 + (0.02 * i) + (0.002 * (i % 3)), 10, 0.01)).ToList();
        var known = WearForecaster.Forecast(new WearQuestion(blocks, 1, 1.79, 400))!;
        var learned = WearForecaster.Forecast(new WearQuestion(blocks, 1, 1.79, 400, LimitExactness: 0.1))!;
        Assert.InRange(known.Upper, 0, 25);
        Assert.InRange(learned.Upper, 50, 150);
        Assert.InRange(learned.Median, 10, 80);
    }

    /// <summary>The power falls straight and its inverse is seen: knowing so tells the end where a short stretch does not.</summary>
    [Fact]
    public void Where_it_is_known_how_an_index_comes_from_what_wears_the_end_is_told_sooner()
    {
        var random = new Random(7);
        var blocks = Enumerable.Range(0, 30)
            .Select(i => new WearBlock((10 * i) + 5, 0.3 / (1 - (((10 * i) + 5) / 1000.0)) * (1 + (0.005 * MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1))), 10, 0.004)).ToList();
        var question = new WearQuestion(blocks, 0.3, 0.97, 300);
        var natural = WearForecaster.Forecast(question with { NaturalPower = -1 })!;
        Assert.Equal(-1, natural.Power);
        Assert.True(Math.Abs(natural.Median - 391) <= Math.Abs(WearForecaster.Forecast(question)!.Median - 391));
        Assert.InRange(natural.Median, 300, 480);
    }

    [Fact]
    public void Noise_alone_shows_no_trend()
    {
        var random = new Random(5);
        var blocks = Enumerable.Range(0, 50).Select(i => new WearBlock(10 * i, 1 + (0.01 * MathNet.Numerics.Distributions.Normal.Sample(random, 0, 1)), 10, 0.025)).ToList();
        Assert.True(WearForecaster.Forecast(new WearQuestion(blocks, 1, 2, 500))!.ChanceProbability > 0.001);
    }

    [Fact]
    public void Three_blocks_are_too_few() =>
        Assert.Null(WearForecaster.Forecast(new WearQuestion([new(5, 1, 10, 0.1), new(15, 1.1, 10, 0.1), new(25, 1.2, 10, 0.1)], 1, 2, 30)));

    [Fact]
    public void A_limit_at_the_reference_says_nothing() =>
        Assert.Null(WearForecaster.Forecast(new WearQuestion(Enumerable.Range(0, 9).Select(i => new WearBlock(i, 1, 10, 0.1)).ToList(), 1, 1, 9)));
}
