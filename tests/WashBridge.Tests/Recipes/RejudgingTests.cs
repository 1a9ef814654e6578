using Microsoft.Extensions.Time.Testing;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Recipes;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Recipes;

public sealed class RejudgingTests : IDisposable
{
    private static readonly FakeTimeProvider Time = new(new DateTimeOffset(2031, 3, 5, 12, 0, 0, TimeSpan.Zero));
    private static readonly Instant Never = Instant.Parse("2032-01-01T00:00:00Z");

    private readonly TemporaryFolder _folder = new();
    private readonly HistorianFile _historian;

    public RejudgingTests()
    {
        _historian = HistorianFile.Open(_folder["night.washdb"], new HistorianOptions(), Time);
        RecipeNight.Live(_historian, [], 200, _ => { });
        var analyst = new Analyst(_historian, RecipeNight.Site.Washers);
        analyst.CatchUp();
        analyst.Save();
    }

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    /// <summary>The same readings, the same limits, the same verdict: else nothing that differs would be due to the other version.</summary>
    [Fact]
    public void The_version_of_the_time_gives_the_verdicts_of_the_time_to_the_byte()
    {
        var kegs = Run(1, 34);
        Assert.True(kegs.Count >= 3);
        Assert.All(kegs.Where(k => k.Now is not null), k => Assert.Equal(
            Core.WashJson.Write(k.Was), Core.WashJson.Write(k.Was with { Verdict = k.Now! })));
        Assert.Contains(kegs, k => k.Now is not null);
    }

    [Fact]
    public void A_limit_that_no_keg_reached_makes_every_one_not_met_and_says_why()
    {
        var kegs = Run(2, 60).Where(k => k.Obstacle is null).ToList();
        Assert.All(kegs, k => Assert.Equal(Verdict.NotMet, k.Now!.Verdict));
        Assert.All(kegs, k => Assert.Equal(["sanitiser-hold"], k.Reasons.Select(r => r.Requirement)));
    }

    [Fact]
    public void Washings_whose_readings_are_dropped_are_named_and_not_judged()
    {
        var until = RecipeNight.Start + TimeSpan.FromMinutes(3);
        _historian.Expire(until, TestContext.Current.CancellationToken);
        var kegs = Run(2, 60);
        Assert.All(kegs.Where(k => k.Was.At.Latest < until), k => Assert.Contains("not all kept: they begin at 2031-03-05T08:0", k.Obstacle, StringComparison.Ordinal));
        Assert.Contains(kegs, k => k.Was.At.Latest < until);
        Assert.Contains(kegs, k => k.Now is not null);
        _historian.Expire(RecipeNight.Start + TimeSpan.FromHours(1), TestContext.Current.CancellationToken);
        Assert.All(Run(2, 60), k => Assert.Contains("not kept any more", k.Obstacle, StringComparison.Ordinal));
    }

    [Fact]
    public void The_last_cycles_are_the_last()
    {
        var all = Run(2, 60).Select(k => k.Was.Verdict.CycleId).Distinct().ToList();
        var last = Rejudging.Run(_historian, RecipeNight.Site, new RejudgeQuestion(RecipeNight.Version(2, 60), new Instant(0), Never, null, 2), null, CancellationToken.None).Select(k => k.Was.Verdict.CycleId).Distinct();
        Assert.Equal(all.TakeLast(2), last);
    }

    [Fact]
    public void Another_recipe_judges_nothing_that_it_did_not_judge() =>
        Assert.Empty(Rejudging.Run(_historian, RecipeNight.Site, new RejudgeQuestion(RecipeNight.Version(2, 60) with { Id = "wash-without-acid" }, new Instant(0), Never), null, CancellationToken.None));

    [Fact]
    public void The_counts_add_up()
    {
        var summary = new RejudgeSummary();
        var share = 0.0;
        foreach (var keg in Rejudging.Run(_historian, RecipeNight.Site, new RejudgeQuestion(RecipeNight.Version(2, 60), new Instant(0), Never), s => share = Math.Max(share, s), CancellationToken.None))
        {
            summary.Add(keg);
        }

        Assert.Equal(1, share);
        Assert.Equal(summary.Kegs, summary.Unjudged + Enum.GetValues<Verdict>().Sum(was => Enum.GetValues<Verdict>().Sum(now => summary.Count(was, now))));
        Assert.Equal(summary.Others, summary.Count(Verdict.Met, Verdict.NotMet) + summary.Count(Verdict.NotProven, Verdict.NotMet));
        Assert.Equal(summary.Others, summary.NamedOthers.Count);
    }

    private List<RejudgedKeg> Run(int version, double hold) =>
        [.. Rejudging.Run(_historian, RecipeNight.Site, new RejudgeQuestion(RecipeNight.Version(version, hold), new Instant(0), Never), null, TestContext.Current.CancellationToken)];
}
