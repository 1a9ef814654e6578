using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Analysing;
using WashBridge.Commands;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Recipes;

/// <summary>A recipe changes while the washer runs: live, killed, restarted and replayed.</summary>
public sealed class RecipeNightTests : IDisposable
{
    /// <summary>More than the washer holds, so that the verdicts differ.</summary>
    private const double LongHold = 60;

    private static readonly FakeTimeProvider Time = new(new DateTimeOffset(2031, 3, 5, 12, 0, 0, TimeSpan.Zero));
    private static readonly Instant Told = RecipeNight.Start + TimeSpan.FromMinutes(2);
    private static readonly Instant InForce = RecipeNight.Start + TimeSpan.FromMinutes(7);

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Cycles_that_begin_under_a_version_are_judged_with_it_and_those_before_with_the_one_before()
    {
        using var historian = Open("night");
        var analyst = new Analyst(historian, RecipeNight.Site.Washers);
        RecipeNight.Live(historian, RecipeNight.Approved(2, LongHold, Told, InForce), 500, _ => analyst.CatchUp());
        var judged = Judged(historian);
        Assert.Contains(judged, j => j.Verdict.RecipeVersion == 1);
        Assert.Contains(judged, j => j.Verdict.RecipeVersion == 2);
        foreach (var (start, keg) in judged.Select(j => (Start(historian, j.CycleId!), j)))
        {
            Assert.Equal(start >= InForce ? 2 : 1, keg.Verdict.RecipeVersion);
            Assert.Equal(start >= InForce ? Verdict.NotMet : Verdict.Met, keg.Verdict.Results.Single(r => r.Requirement == "sanitiser-hold").Verdict);
            Assert.EndsWith($"/judged/{RecipeNight.Configured.Id}/{keg.Verdict.RecipeVersion}", keg.Id, StringComparison.Ordinal);
        }

        // The figures of a cycle name it too, so that charts begin anew.
        Assert.Equal([1, 2], historian.ReadEvents(new EventQuery { Kinds = ["cycle-measured"] }).OfType<CycleMeasured>().Select(m => m.Features.RecipeVersion).Distinct());
    }

    /// <summary>The approval is in the log before the cycle's end, whatever the analyst has read by then.</summary>
    [Theory]
    [InlineData(97, 0)]
    [InlineData(1000, 1)]
    [InlineData(333, 3)]
    public void Killed_and_restarted_in_any_way_it_tells_the_same_to_the_byte(int piece, int killEvery)
    {
        var acts = RecipeNight.Approved(2, LongHold, Told, InForce);
        using var once = Open("once");
        RecipeNight.Live(once, acts, int.MaxValue, _ => { });
        new Analyst(once, RecipeNight.Site.Washers).CatchUp();
        new AnalysisFollower(once, RecipeNight.Site, NullLogger.Instance).CatchUp();

        using var often = Open("often");
        var (analyst, analysis) = Make();
        RecipeNight.Live(often, acts, piece, pieces =>
        {
            if (killEvery > 0 && pieces % killEvery == 0)
            {
                (analyst, analysis) = Make();
            }

            if (pieces % 5 != 4)
            {
                analyst.CatchUp();
                analysis.CatchUp();
            }

            if (pieces % 7 == 3)
            {
                analyst.Save();
                analysis.Save();
            }
        });
        analyst.CatchUp();
        analysis.CatchUp();
        Assert.Equal(Bodies(once), Bodies(often));

        (Analyst, AnalysisFollower) Make() => (new Analyst(often, RecipeNight.Site.Washers), new AnalysisFollower(often, RecipeNight.Site, NullLogger.Instance));
    }

    [Fact]
    public void A_replay_judges_with_the_versions_of_the_time()
    {
        using var live = Open("live");
        var analyst = new Analyst(live, RecipeNight.Site.Washers);
        RecipeNight.Live(live, RecipeNight.Approved(2, LongHold, Told, InForce), 400, _ => analyst.CatchUp());
        new AnalysisFollower(live, RecipeNight.Site, NullLogger.Instance).CatchUp();

        using var replayed = Open("replayed");
        ReplayCommand.Copy(live, replayed, null, TestContext.Current.CancellationToken, () => ReplayCommand.Analyse(RecipeNight.Site, replayed, null));
        ReplayCommand.Analyse(RecipeNight.Site, replayed, null);
        Assert.Equal(Bodies(live), Bodies(replayed));
        Assert.Contains(Bodies(replayed), b => b.Contains("\"kind\":\"recipe-acted\"", StringComparison.Ordinal));
    }

    /// <summary>The analyst can be behind: what is approved later in the log does not reach the cycles before it.</summary>
    [Fact]
    public void An_approval_later_in_the_log_does_not_judge_what_ended_before_it()
    {
        using var historian = Open("behind");
        var late = RecipeNight.Start + TimeSpan.FromMinutes(12);
        RecipeNight.Live(historian, RecipeNight.Approved(2, LongHold, late, null), int.MaxValue, _ => { });
        new Analyst(historian, RecipeNight.Site.Washers).CatchUp();
        Assert.All(Judged(historian).Where(j => j.At.Latest < late), j => Assert.Equal(1, j.Verdict.RecipeVersion));
        Assert.All(Judged(historian).Where(j => Start(historian, j.CycleId!) >= late), j => Assert.Equal(2, j.Verdict.RecipeVersion));
    }

    [Fact]
    public void What_is_told_of_a_recipe_reaches_the_analysis_of_each_washer_under_an_id_of_its_own()
    {
        var acted = RecipeNight.Approved(2, LongHold, Told, InForce)[0];
        Assert.All(["north", "yard"], w => Assert.True(AnalysisInputs.Concerns(w, acted)));
        Assert.NotEqual(AnalysisInputs.ToldTo("north", acted).Id, AnalysisInputs.ToldTo("yard", acted).Id);
        Assert.Equal("yard", AnalysisInputs.ToldTo("yard", acted).Washer);
    }

    private static List<KegJudged> Judged(IHistorianReader historian) => [.. historian.ReadEvents(new EventQuery { Kinds = ["keg-judged"] }).OfType<KegJudged>()];

    private static Instant Start(IHistorianReader historian, string cycle) =>
        historian.ReadEvents(new EventQuery { CycleId = cycle, Kinds = ["cycle-ended"] }).OfType<CycleEnded>().Single().Cycle.Start.Earliest.Wall;

    /// <summary>In the order of ids: when an analyst catches up decides where in the log its events stand.</summary>
    private static List<string> Bodies(IHistorianReader historian) => [.. historian.ReadEvents(new EventQuery()).OrderBy(e => e.Id, StringComparer.Ordinal).Select(WashJson.Write)];

    private HistorianFile Open(string name) => HistorianFile.Open(_folder[$"{name}.washdb"], new HistorianOptions(), Time);
}
