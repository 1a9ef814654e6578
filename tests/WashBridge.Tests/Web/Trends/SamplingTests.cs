using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Lots;
using WashBridge.Web.Pages.Drawing;

namespace WashBridge.Tests.Web.Trends;

public sealed class SamplingTests
{
    private const string Address = "/sampling?washer=north&from=2031-03-04T14%3A00%3A00Z&until=2031-03-05T06%3A00%3A00Z&";

    public static TheoryData<string> Plans { get; } = ["exact", "kegs", "washer", "table", "swab"];

    [Theory]
    [MemberData(nameof(Plans))]
    public void A_plan_is_read_from_its_line_as_it_was_written(string which)
    {
        var choice = which switch
        {
            "kegs" => new PlanChoice { Exclude = "3", Accept = "1" },
            "washer" => new PlanChoice { About = "washer", Exclude = "2.5%", Confidence = "99.9%" },
            "table" => new PlanChoice { By = "table", Aql = "0.65", Level = "I", Inspection = "reduced", Steady = true, Kind = "titration", Limit = "0,5", Unit = "mg/L" },
            "swab" => new PlanChoice { Kind = "swab", Limit = "30", Unit = "RLU" },
            _ => new PlanChoice(),
        };
        var plan = choice.For(200);
        var read = SamplingPlan.Of(Drawn("a", plan, 200, []));
        Assert.Equal(plan, read);
    }

    [Fact]
    public void A_line_of_something_else_is_no_plan()
    {
        Assert.Null(SamplingPlan.Of(Drawn("a", new PlanChoice().For(100), 100, []) with { Plan = "open a few" }));
        Assert.Null(SamplingPlan.Of(Drawn("a", new PlanChoice().For(100), 100, []) with { Plan = "spear pull; AQL 0.7 %, level II, normal inspection (ISO 2859-1 single sampling)" }));
    }

    [Theory]
    [InlineData(0, 0, LotOutcome.Open)]
    [InlineData(12, 0, LotOutcome.Open)]
    [InlineData(13, 0, LotOutcome.Accepted)]
    [InlineData(1, 1, LotOutcome.Rejected)]
    public void A_lot_is_accepted_only_when_all_is_opened_and_rejected_as_soon_as_too_many_fail(int opened, int failed, LotOutcome expected)
    {
        var kegs = Enumerable.Range(1, 13).Select(n => $"K{n}").ToList();
        var draw = Drawn("a", new PlanChoice { By = "table", Aql = "1.0" }.For(90), 90, kegs);
        Assert.Equal(13, SamplingPlan.Of(draw)!.SampleSize);
        var lot = Assert.Single(LotStanding.Of([draw], [.. kegs.Take(opened).Select((k, i) => Inspected("a", k, passed: i >= failed))]));
        Assert.Equal(expected, lot.Outcome);
        Assert.Equal(opened, lot.Opened);
        Assert.True(lot.IsInOrder);
    }

    [Fact]
    public void The_bound_comes_with_the_results_and_kegs_out_of_order_are_told()
    {
        var draw = Drawn("a", new PlanChoice().For(100), 100, ["K1", "K2", "K3"]);
        var lot = Assert.Single(LotStanding.Of([draw], [Inspected("a", "K3", true), Inspected("b", "K1", true), Inspected("a", "K9", false)]));
        Assert.Equal(1, lot.Opened);
        Assert.False(lot.IsInOrder);
        Assert.Equal(FailureBound.OfLot(100, 1, 0, 0.95).UpperKegs, lot.Bound!.UpperKegs);
        Assert.Null(LotStanding.Of([draw], [])[0].Bound);
    }

    [Fact]
    public void A_second_draw_from_the_same_kegs_is_counted_and_does_not_count_for_switching()
    {
        var plan = new PlanChoice { By = "table", Aql = "1.0" }.For(90);
        var lots = LotStanding.Of([Drawn("a", plan, 90, ["K1"]), Drawn("b", plan, 90, ["K1"])], [Inspected("a", "K1", false), Inspected("b", "K1", true)]);
        Assert.Equal([0, 1], lots.Select(l => l.EarlierDraws));
        Assert.Equal(1, LotSwitching.Of(lots, "north", InspectionKind.SpearPull, 1.0, InspectionLevel.II).Lots);
    }

    [Fact]
    public void Two_rejected_of_five_lots_lead_to_tightened_inspection_and_a_lot_inspected_otherwise_does_not_count()
    {
        var plan = new PlanChoice { By = "table", Aql = "1.0" }.For(90);
        var lots = Enumerable.Range(1, 3).Select(n => Drawn($"l{n}", plan, 90, [$"K{n}"]) with { Fingerprint = $"f{n}" }).ToList();
        var standing = LotStanding.Of(lots, [Inspected("l1", "K1", false), Inspected("l2", "K2", false), Inspected("l3", "K3", true)]);
        var switching = LotSwitching.Of(standing, "north", InspectionKind.SpearPull, 1.0, InspectionLevel.II);
        Assert.Equal((Inspection.Tightened, 2), (switching.State.Next, switching.Lots));
        Assert.Equal("l3", Assert.Single(switching.Problems).Lot);
        Assert.Equal(0, LotSwitching.Of(standing, "yard", InspectionKind.SpearPull, 1.0, InspectionLevel.II).Lots);
    }

    [Fact]
    public async Task The_page_shows_the_lot_what_the_plan_proves_and_how_often_lots_are_accepted()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var page = await TrendPagesTests.Page(client, Address + "plan=exact&exclude=10%25&confidence=95%25&accept=0&about=lot&kind=spear-pull");
        Assert.Contains("60 kegs", page);
        Assert.Contains(Proof.Of(ExactPlan.ForLot(60, 0.1, 0, 0.95)), page);
        Assert.Contains("a spear under pressure kills", page);
        Assert.Contains(Proof.Limits[0], page);
        var chart = Regex.Match(page, "data-chart=\"(trends/plan[^\"]+)\"").Groups[1].Value;
        using var data = JsonDocument.Parse(await client.GetStringAsync("/" + chart, WebTrial.Cancellation));
        Assert.Equal(100.0, data.RootElement.GetProperty("series")[0].GetProperty("value")[0].GetDouble());
        Assert.Contains("allowed: size 1 to", await (await client.GetAsync("/trends/plan?size=0&accepted=0&rate=0.1", WebTrial.Cancellation)).Content.ReadAsStringAsync(WebTrial.Cancellation));
    }

    [Theory]
    [InlineData("plan=exact&exclude=many", "to exclude: found many; allowed: a share such as 1%")]
    [InlineData("plan=exact&confidence=20%25", "confidence: found 20 %; allowed: 50 % to 99.9999 %")]
    [InlineData("plan=exact&about=washer&exclude=3", "to exclude: found a number of kegs (3) for a statement about the washer")]
    [InlineData("plan=exact&exclude=1%25&about=washer", "found 299 kegs, which this plan needs; allowed: up to the 60 kegs")]
    [InlineData("plan=table&aql=0.7", "AQL: found 0.7 %; allowed: 0.01")]
    [InlineData("plan=exact&kind=swab", "limit: found nothing; allowed: the highest value")]
    [InlineData("plan=exact&kind=x-ray", "allowed: spear-pull, swab, titration")]
    public async Task A_plan_that_cannot_be_is_told_with_what_was_found_and_what_is_allowed(string query, string says)
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var page = await TrendPagesTests.Page(client, Address + query);
        Assert.Contains(says, page);
        Assert.DoesNotContain("Draw at random", page);
    }

    [Fact]
    public async Task A_lot_goes_from_the_draw_over_its_results_to_acceptance()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        const string Plan = Address + "plan=exact&exclude=50%25";
        var page = await TrendPagesTests.Raw(client, Plan);
        var hidden = Regex.Matches(page, "name=\"(lot-from|lot-until|fingerprint)\" value=\"([^\"]+)\"").Select(m => (m.Groups[1].Value, WebUtility.HtmlDecode(m.Groups[2].Value))).Distinct().ToArray();
        Assert.Equal(3, hidden.Length);
        Assert.Contains("lot: found 60 kegs, which are not those shown", await RefusedAsync(client, Plan, page, "draw", [.. hidden.Select(h => h.Item1 == "fingerprint" ? (h.Item1, "other") : h), ("lot", "early"), ("by", "T. Ester")]));
        await PostAsync(client, Plan, page, "draw", [.. hidden, ("lot", "early shift"), ("by", "T. Ester")]);
        var draw = Assert.IsType<LotSampled>(Assert.Single(trial.Historian.ReadEvents(new EventQuery { Kinds = ["lot-sampled"] })));
        Assert.Equal(RandomChoice.Choose(draw.Seed, [.. Enumerable.Range(1, 60).Select(n => $"K{n}")], draw.Drawn.Count), draw.Drawn);
        Assert.Equal(60, draw.Size);
        Assert.Contains("'early shift', which was drawn from before", await RefusedAsync(client, Plan, page, "draw", [.. hidden, ("lot", "early shift"), ("by", "T. Ester")]));

        const string Lot = "/sampling/lot?name=early%20shift";
        page = await TrendPagesTests.Raw(client, Lot);
        Assert.Contains("No keg was looked at yet", page);
        Assert.Contains("result: found nothing; allowed: passed, failed", await RefusedAsync(client, Lot, page, "result", ("keg", draw.Drawn[0]), ("found", ""), ("by", "T. Ester")));
        Assert.Contains("allowed: a keg that was drawn", await RefusedAsync(client, Lot, page, "result", ("keg", "K0"), ("result", "passed"), ("by", "T. Ester")));
        foreach (var keg in draw.Drawn)
        {
            await PostAsync(client, Lot, page, "result", ("keg", keg), ("result", "passed"), ("found", Washing.Nasty), ("by", "T. Ester"));
        }

        Assert.Contains("has its result already", await RefusedAsync(client, Lot, page, "result", ("keg", draw.Drawn[0]), ("result", "failed"), ("by", "T. Ester")));
        page = await TrendPagesTests.Raw(client, Lot);
        Assert.DoesNotContain(Washing.Nasty, page);
        Assert.Contains("accepted", page);
        Assert.Contains(Proof.Of(FailureBound.OfLot(60, draw.Drawn.Count, 0, 0.95)), WebUtility.HtmlDecode(page));
        Assert.Contains("early shift", await TrendPagesTests.Page(client, "/sampling"));
        Assert.Equal(draw.Drawn.Count, trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-inspected"] }).Count);
    }

    [Fact]
    public async Task A_swab_passes_by_its_value_and_not_by_opinion()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var plan = new PlanChoice { Kind = "swab", Limit = "30", Unit = "RLU" }.For(60);
        trial.Historian.AppendEvents([Drawn("swabs", plan, 60, ["K1", "K2"])]);
        const string Lot = "/sampling/lot?name=swabs";
        var page = await TrendPagesTests.Raw(client, Lot);
        Assert.Contains("Passes up to 30 RLU", page);
        await PostAsync(client, Lot, page, "result", ("keg", "K1"), ("value", "30"), ("result", "failed"), ("by", "T. Ester"));
        await PostAsync(client, Lot, page, "result", ("keg", "K2"), ("value", "30,5"), ("result", "passed"), ("found", "neck"), ("by", "T. Ester"));
        var inspected = trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-inspected"] }).Cast<KegInspected>().ToList();
        Assert.Equal([("K1", true, 30.0, "RLU", "within the limit"), ("K2", false, 30.5, "RLU", "neck")], inspected.Select(i => (i.KegId, i.Passed, i.Value!.Value, i.Unit!, i.Found)));
        Assert.All(inspected, i => Assert.Equal(InspectionKind.Swab, i.Inspection));
    }

    [Fact]
    public async Task A_lot_that_there_is_not_is_said()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync("/sampling/lot?name=" + Uri.EscapeDataString(Washing.Nasty), WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        var page = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
        Assert.Contains("which was never drawn from", page);
        Assert.DoesNotContain(Washing.Nasty, page);
    }

    private static async Task<WebTrial> StartAsync()
    {
        var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([.. Enumerable.Range(1, 60).Select(Judged)]);
        return trial;
    }

    private static KegJudged Judged(int number) => new()
    {
        Id = $"north-c{number}/1/verdict",
        Washer = "north",
        CycleId = $"north-c{number}",
        At = TimeBounds.At(Washing.At(number)),
        Verdict = new KegVerdict { KegId = $"K{number}", KegIdSource = KegIdSource.Tag, CycleId = $"north-c{number}", Washer = "north", Station = 1, Recipe = "full-wash", RecipeVersion = 1, Rule = DecisionRule.Bounds, Verdict = Verdict.Met, Results = [] },
    };

    private static LotSampled Drawn(string lot, SamplingPlan plan, int size, IReadOnlyList<string> kegs) => new()
    {
        Id = $"north/lot/{lot}", Washer = "north", At = TimeBounds.At(Washing.At(100)), Act = Washing.Act(), Lot = lot, Size = size, Fingerprint = "f", Plan = plan.Line, AcceptanceNumber = plan.AcceptanceNumber, Seed = "s", Drawn = kegs, Proof = plan.Proves,
    };

    private static KegInspected Inspected(string lot, string keg, bool passed) => new()
    {
        Id = $"{lot}/{keg}", Washer = "north", At = TimeBounds.At(Washing.At(110)), Act = Washing.Act(), KegId = keg, Lot = lot, Inspection = InspectionKind.SpearPull, Passed = passed, Found = "as it was",
    };

    private static async Task PostAsync(HttpClient client, string address, string page, string form, params (string, string)[] fields)
    {
        using var answer = await client.PostAsync(address, new FormUrlEncodedContent(TrendPagesTests.Fields(page, form, fields)), WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Found, answer.StatusCode);
    }

    private static async Task<string> RefusedAsync(HttpClient client, string address, string page, string form, params (string, string)[] fields)
    {
        using var answer = await client.PostAsync(address, new FormUrlEncodedContent(TrendPagesTests.Fields(page, form, fields)), WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation));
    }
}
