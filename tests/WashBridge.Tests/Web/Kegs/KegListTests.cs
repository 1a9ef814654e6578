using System.Net;
using CsCheck;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Web.Pages.Kegs;

namespace WashBridge.Tests.Web.Kegs;

public sealed class KegListTests
{
    [Fact]
    public async Task The_list_counts_filters_and_gives_the_first_reason()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([.. Enumerable.Range(1, 120).Select(i => WashedKegs.Judged($"K-{i:D3}", i % 10 == 0 ? Verdict.NotMet : Verdict.Met, KegPageTests.Ago(trial, 200 - i)))]);
        using var client = trial.Client();

        var all = await client.GetStringAsync("/kegs", WebTrial.Cancellation);
        Assert.Contains("100 of 120 kegs", all);
        Assert.Contains("<strong>108</strong> met", all);
        Assert.Contains("Hold in sanitise (pass 1) lasted 30.2 to 30.6 s", all);
        Assert.True(all.IndexOf("K-120", StringComparison.Ordinal) < all.IndexOf("K-119", StringComparison.Ordinal));

        var bad = await client.GetStringAsync("/kegs?verdict=not-met&part=k-0", WebTrial.Cancellation);
        Assert.Contains("K-090", bad);
        Assert.DoesNotContain("K-091", bad);
        Assert.DoesNotContain("K-100", bad);
    }

    [Fact]
    public async Task Several_kegs_are_released_after_they_were_shown_once_more_and_never_one_that_is_not_met()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents(
        [
            WashedKegs.Judged("K-1", Verdict.Met, KegPageTests.Ago(trial, 4)), WashedKegs.Judged("K-2", Verdict.NotProven, KegPageTests.Ago(trial, 3)),
            WashedKegs.Judged("K-3", Verdict.NotMet, KegPageTests.Ago(trial, 2)), WashedKegs.Judged("K-4", Verdict.Met, KegPageTests.Ago(trial, 1)),
        ]);
        using var client = trial.Client();

        var page = await client.GetStringAsync("/kegs/release?span=24h", WebTrial.Cancellation);
        var form = new PageForm(page, "release") { ["by"] = "K. Wash" };
        Assert.Equal(["K-4", "K-1"], form["kegs"].Split('\n').Select(l => l.Split('\t')[0]));
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-decided"] }));

        using var answer = await form.SendAsync(client, "/kegs/release?span=24h");
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.Equal([KegStanding.Released, KegStanding.Undecided, KegStanding.Undecided, KegStanding.Released], new[] { "K-1", "K-2", "K-3", "K-4" }.Select(k => KegPageTests.File(trial, k).Standing));
    }

    [Fact]
    public async Task A_forged_list_releases_nothing_that_is_not_met_or_that_changed_meanwhile()
    {
        await using var trial = await WebTrial.StartAsync();
        var (met, bad, held) = (WashedKegs.Judged("K-1", Verdict.Met, KegPageTests.Ago(trial, 4)), WashedKegs.Judged("K-2", Verdict.NotMet, KegPageTests.Ago(trial, 3)), WashedKegs.Judged("K-3", Verdict.Met, KegPageTests.Ago(trial, 2)));
        trial.Historian.AppendEvents([met, bad, held]);
        using var client = trial.Client();
        var hold = new PageForm(await client.GetStringAsync("/kegs/keg?id=K-3", WebTrial.Cancellation), "hold") { ["by"] = "A. First", ["reason"] = "Dented" };
        var form = new PageForm(await client.GetStringAsync("/kegs/release?span=24h", WebTrial.Cancellation), "release") { ["by"] = "K. Wash" };
        form["kegs"] = $"K-1\t{met.Id}\nK-2\t{bad.Id}\nK-3\t{held.Id}\nK-9\tnothing";
        using (await hold.SendAsync(client, "/kegs/keg?id=K-3"))
        {
        }

        using var answer = await form.SendAsync(client, "/kegs/release?span=24h");
        var page = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);

        Assert.Equal(HttpStatusCode.Conflict, answer.StatusCode);
        Assert.Contains("1 kegs were released. 3 were not", page);
        Assert.Equal([KegStanding.Released, KegStanding.Undecided, KegStanding.Held], new[] { "K-1", "K-2", "K-3" }.Select(k => KegPageTests.File(trial, k).Standing));
    }

    [Fact]
    public async Task Kegs_chosen_in_the_list_are_shown_before_anything_is_released()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged("<b>&1", Verdict.Met, KegPageTests.Ago(trial, 4)), WashedKegs.Judged("K-2", Verdict.Met, KegPageTests.Ago(trial, 3))]);
        using var client = trial.Client();
        var form = new PageForm(await client.GetStringAsync("/kegs", WebTrial.Cancellation), "choose") { ["keg"] = "<b>&1" };

        using var answer = await form.SendAsync(client, "/kegs/release");
        var page = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Contains("Release these 1 kegs", page);
        Assert.Contains("&lt;b&gt;&amp;1", page);
        Assert.DoesNotContain("<b>&1", page);
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-decided"] }));
    }

    [Fact]
    public void How_a_keg_stands_in_the_list_is_how_it_stands_in_its_file_whatever_happened() =>
        Gen.Int[0, 5].Array[1, 14].Sample(acts =>
        {
            using var folder = new TemporaryFolder();
            var start = Instant.Parse("2031-03-05T06:00:00Z");
            using var historian = Historian.Historian.Open(folder["a.washdb"], new HistorianOptions(), new SettableTime(start.ToDateTimeOffset()));
            var cycles = 0;
            for (var i = 0; i < acts.Length; i++)
            {
                var at = start + TimeSpan.FromMinutes(i);
                historian.AppendEvents([acts[i] switch
                {
                    // Washed; judged again, the last or an earlier washing; decided.
                    0 or 1 => WashedKegs.Judged("K-1", Verdict.Met, at, cycle: $"c{++cycles}"),
                    2 => WashedKegs.Judged("K-1", Verdict.NotMet, at, cycle: $"c{Math.Max(1, cycles - (i % 2))}", version: 2 + i),
                    var decision => Decided((KegDecision)(decision - 3), at, i),
                }]);
            }

            var file = KegFile.Of("K-1", historian.ReadKeg("K-1"));
            var last = file.LastWash;
            var lines = KegStandings.Of(historian, [.. file.Washes.Select(w => w.Judged)]);
            Assert.All(lines, l => Assert.Equal(l.Verdict.CycleId == last!.CycleId, l.IsLast));
            Assert.All(lines.Where(l => l.IsLast), l => Assert.Equal(file.Standing, l.Standing));
        }, iter: 200);

    [Theory]
    [InlineData("K0042", new[] { "K-0042", "K-0043" })]
    [InlineData("k-0042", new[] { "K-0042", "K-0043" })]
    [InlineData("4711", new[] { "DE-KEG-4711" })]
    [InlineData("", new string[0])]
    [InlineData("completely different", new string[0])]
    public void Ids_that_can_have_been_meant_are_near(string typed, string[] near) =>
        Assert.Equal(near, NearIds.Of(typed, ["K-0042", "K-0043", "DE-KEG-4711", "Z"]));

    private static KegDecided Decided(KegDecision decision, Instant at, int number) => new()
    {
        Id = $"decision/{number}",
        Washer = "north",
        At = TimeBounds.At(at),
        Act = new Act { By = "K. Wash" },
        KegId = "K-1",
        Station = 1,
        Decision = decision,
    };
}
