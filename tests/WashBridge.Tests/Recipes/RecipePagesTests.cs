using System.Net;
using System.Net.Http.Json;
using Microsoft.Extensions.DependencyInjection;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Recipes;
using WashBridge.Tests.Web;
using WashBridge.Web;

namespace WashBridge.Tests.Recipes;

public sealed class RecipePagesTests
{
    private const string Hold = "r:sanitiser-hold:at-least";

    [Fact]
    public async Task A_recipe_goes_from_a_draft_by_numbers_through_approval_by_another_person_into_force()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        var begun = await PageForm.SendAsync(client, "/recipes/full-wash", "draft", ("based", "1"), ("reason", "longer dwell"), ("by", "A. Uthor"));
        Assert.Equal((HttpStatusCode.Redirect, true), (begun.Status, begun.Location!.EndsWith("recipes/full-wash/2/edit", StringComparison.Ordinal)));
        trial.Time.Advance(TimeSpan.FromMinutes(1));
        var saved = await PageForm.SendAsync(client, "/recipes/full-wash/2/edit", "numbers", (Hold, "40"), ("s:sanitise.hold:value", "41"), ("reason", "as tried"), ("by", "A. Uthor"));
        Assert.Equal(HttpStatusCode.Redirect, saved.Status);
        trial.Time.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(HttpStatusCode.Redirect, (await PageForm.SendAsync(client, "/recipes/full-wash/2", "submit", ("reason", "ready"), ("by", "A. Uthor"))).Status);

        var own = await PageForm.SendAsync(client, "/recipes/full-wash/2", "approve", ("reason", "fine"), ("by", "A. Uthor"));
        Assert.Equal(HttpStatusCode.Conflict, own.Status);
        Assert.Contains("A. Uthor wrote version 2", own.Body, StringComparison.Ordinal);
        Assert.Contains(">fine</textarea>", own.Body, StringComparison.Ordinal);

        var early = await PageForm.SendAsync(client, "/recipes/full-wash/2", "approve", ("reason", "fine"), ("by", "Q. Ality"), ("from", "2031-03-05T05:00"));
        Assert.Equal(HttpStatusCode.Conflict, early.Status);
        Assert.Contains("from: found", early.Body, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await PageForm.SendAsync(client, "/recipes/full-wash/2", "approve", ("reason", "fine"), ("by", "Q. Ality"), ("from", "2031-03-05T08:00"))).Status);

        var version = RecipeLog.Now(trial.Historian, trial.Site.Recipes).Find("full-wash", 2)!;
        Assert.Equal(RecipeState.Approved, version.State);
        Assert.Equal("2031-03-05T08:00:00.000000Z", version.From.ToString());
        Assert.Equal(40, version.Recipe.Requirements.OfType<StepTime>().Single(r => r.Id == "sanitiser-hold").AtLeast!.Value.TotalSeconds);
        Assert.Equal(41, version.Recipe.Setpoints["sanitise.hold"].Value);
        Assert.All(version.Acts, a => Assert.Equal(Means.Page, a.Act.Means));

        var overview = WebUtility.HtmlDecode(await client.GetStringAsync("/recipes", WebTrial.Cancellation));
        Assert.Contains("approved, to come", overview, StringComparison.Ordinal);
        trial.Time.Advance(TimeSpan.FromHours(3));
        Assert.Contains("Cycles that begin now are judged with it.", await client.GetStringAsync("/recipes/full-wash/2", WebTrial.Cancellation), StringComparison.Ordinal);
        var compared = WebUtility.HtmlDecode(await client.GetStringAsync("/recipes/full-wash/compare?left=1&right=2", WebTrial.Cancellation));
        Assert.Contains("at least 40 s instead of 34 s", compared, StringComparison.Ordinal);
        Assert.Contains("set to 41 s instead of 35 s", compared, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_the_site_wants_two_a_version_is_approved_by_two_others_than_its_author_each_logged_in()
    {
        await using var trial = await WebTrial.StartWithLoginAsync(h => h with { Approvals = 2 });
        using var author = await trial.LoggedInAsync(Role.Qa, "A. Uthor");
        using var first = await trial.LoggedInAsync(Role.Qa, "Q. Ality");
        using var second = await trial.LoggedInAsync(Role.Administrator, "B. Oss");
        using var hand = await trial.LoggedInAsync(Role.Operator, "L. Ine");
        const string Page = "/recipes/full-wash/2";
        Assert.Equal(HttpStatusCode.Redirect, (await SendAsync(author, "/recipes/full-wash", "draft", ("based", "1"))).Status);
        Assert.Equal(HttpStatusCode.Redirect, (await SendAsync(author, Page + "/edit", "numbers", (Hold, "40"))).Status);
        Assert.Equal(HttpStatusCode.Redirect, (await SendAsync(author, Page, "submit")).Status);

        // Nobody signs in another's name, an author not at all, and whoever has no right to is offered no form.
        var own = await SendAsync(author, Page, "approve");
        Assert.Equal(HttpStatusCode.Conflict, own.Status);
        Assert.Contains("A. Uthor wrote version 2", own.Body, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.BadRequest, (await SendAsync(author, Page, "approve", ("by", "Q. Ality"))).Status);
        Assert.DoesNotContain("name=\"step\" value=\"approve\"", await hand.ReadAsync(Page), StringComparison.Ordinal);
        using var forced = await hand.PostAsync(Page, new FormUrlEncodedContent([.. new PageForm(await first.ReadAsync(Page), "approve").Fields.Where(f => f.Key != WebSite.FormToken), KeyValuePair.Create(WebSite.FormToken, PageForm.Token(await hand.ReadAsync(Page)))]), WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Forbidden, forced.StatusCode);
        Assert.Equal(RecipeState.Submitted, State());

        Assert.Equal(HttpStatusCode.Redirect, (await SendAsync(first, Page, "approve")).Status);
        Assert.Equal(RecipeState.Submitted, State());
        Assert.Contains("Q. Ality", await second.ReadAsync(Page), StringComparison.Ordinal);
        var twice = await SendAsync(first, Page, "approve");
        Assert.Equal(HttpStatusCode.Conflict, twice.Status);
        Assert.Equal(RecipeState.Submitted, State());

        Assert.Equal(HttpStatusCode.Redirect, (await SendAsync(second, Page, "approve")).Status);
        Assert.Equal(RecipeState.Approved, State());
        var approvals = trial.Historian.ReadEvents(new EventQuery { Kinds = ["recipe-acted"] }).Cast<RecipeActed>().Where(a => a.Step == RecipeStep.Approved).ToList();
        Assert.Equal([("Q. Ality", Role.Qa, Means.Page), ("B. Oss", Role.Administrator, Means.Page)], approvals.Select(a => (a.Act.By, a.Act.Role!.Value, a.Act.Means!.Value)));

        RecipeState State() => RecipeLog.Now(trial.Historian, trial.Site.Recipes).Find("full-wash", 2)!.State;

        async Task<(HttpStatusCode Status, string? Location, string Body)> SendAsync(Browser browser, string address, string form, params (string, string)[] typed)
        {
            trial.Time.Advance(TimeSpan.FromSeconds(1));
            return await PageForm.SendAsync(browser, address, form, [("reason", "as tried"), .. typed]);
        }
    }

    [Theory]
    [InlineData("abc", "found 'abc'; allowed: a number in s")]
    [InlineData("34,5", "found '34,5'")]
    [InlineData("-3", "allowed:")]
    [InlineData("99999999", "100 ms to 1 d")]
    public async Task A_wrong_number_is_shown_at_its_field_and_what_was_typed_is_kept(string typed, string told)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        await PageForm.SendAsync(client, "/recipes/full-wash", "draft", ("based", "1"), ("reason", "longer dwell"), ("by", "A. Uthor"));
        var before = trial.Historian.LastSequence;
        var answer = await PageForm.SendAsync(client, "/recipes/full-wash/2/edit", "numbers", (Hold, typed), ("reason", "as tried"), ("by", "A. Uthor"));
        Assert.Equal(HttpStatusCode.BadRequest, answer.Status);
        Assert.Contains($"id=\"{Hold}-wrong\">", answer.Body, StringComparison.Ordinal);
        Assert.Contains(told, answer.Body, StringComparison.Ordinal);
        Assert.Contains($"value=\"{typed}\"", answer.Body, StringComparison.Ordinal);
        Assert.Equal(before, trial.Historian.LastSequence);
    }

    [Fact]
    public async Task A_wrong_text_is_told_with_line_and_field_and_kept()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        await PageForm.SendAsync(client, "/recipes/full-wash", "draft", ("based", "1"), ("reason", "longer dwell"), ("by", "A. Uthor"));
        var text = RecipeYaml.Write(RecipeNight.Configured).Replace("phase: sanitise\n    step: hold", "phase: sanitize\n    step: hold", StringComparison.Ordinal);
        var answer = await PageForm.SendAsync(client, "/recipes/full-wash/2/edit?as=text", "text", ("yaml", text), ("reason", "as tried"), ("by", "A. Uthor"));
        Assert.Equal(HttpStatusCode.BadRequest, answer.Status);
        Assert.Contains("requirements[1].phase", answer.Body, StringComparison.Ordinal);
        Assert.Contains("Line ", answer.Body, StringComparison.Ordinal);
        Assert.Contains("phase: sanitize", answer.Body, StringComparison.Ordinal);

        var right = text.Replace("sanitize", "sanitise", StringComparison.Ordinal).Replace("at-least: 34 s", "at-least: 39.5 s", StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await PageForm.SendAsync(client, "/recipes/full-wash/2/edit?as=text", "text", ("yaml", right), ("reason", "as tried"), ("by", "A. Uthor"))).Status);
        Assert.Equal(39.5, RecipeLog.Now(trial.Historian, trial.Site.Recipes).Find("full-wash", 2)!.Recipe.Requirements.OfType<StepTime>().Single(r => r.Id == "sanitiser-hold").AtLeast!.Value.TotalSeconds);
    }

    [Fact]
    public async Task Two_who_change_the_same_draft_do_not_overwrite_each_other()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        await PageForm.SendAsync(client, "/recipes/full-wash", "draft", ("based", "1"), ("reason", "longer dwell"), ("by", "A. Uthor"));
        trial.Time.Advance(TimeSpan.FromMinutes(1));
        var was = RecipeLog.Now(trial.Historian, trial.Site.Recipes).Find("full-wash", 2)!.Drafts.Last().Id;
        await PageForm.SendAsync(client, "/recipes/full-wash/2/edit", "numbers", (Hold, "36"), ("reason", "as tried"), ("by", "K. Wash"));
        var second = await PageForm.SendAsync(client, "/recipes/full-wash/2/edit", "numbers", ("was", was), (Hold, "38"), ("reason", "as tried"), ("by", "A. Uthor"));
        Assert.Equal(HttpStatusCode.Conflict, second.Status);
        Assert.Contains("was changed by K. Wash", second.Body, StringComparison.Ordinal);
        Assert.Contains("value=\"38\"", second.Body, StringComparison.Ordinal);
    }

    /// <summary>The form that is sent is offered no longer: it is refused with the reason all the same.</summary>
    [Theory]
    [InlineData("withdraw", "withdraw", "version 2 is withdrawn")]
    [InlineData("withdraw", "submit", "version 2 is withdrawn")]
    [InlineData("submit", "numbers", "version 2 is submitted")]
    [InlineData("submit", "text", "version 2 is submitted")]
    public async Task What_can_no_longer_be_done_is_refused_with_the_reason_when_it_comes_from_a_page_left_open(string done, string late, string told)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        await PageForm.SendAsync(client, "/recipes/full-wash", "draft", ("based", "1"), ("reason", "longer dwell"), ("by", "A. Uthor"));
        trial.Time.Advance(TimeSpan.FromMinutes(1));
        var page = "/recipes/full-wash/2" + late switch { "numbers" => "/edit", "text" => "/edit?as=text", _ => "" };
        var left = new PageForm(await client.ReadAsync(page), late) { ["reason"] = "as tried", ["by"] = "K. Wash" };
        Assert.Equal(HttpStatusCode.Redirect, (await PageForm.SendAsync(client, "/recipes/full-wash/2", done, ("reason", "ready"), ("by", "A. Uthor"))).Status);
        var before = trial.Historian.LastSequence;

        using var answer = await left.SendAsync(client, page);

        Assert.Equal(HttpStatusCode.Conflict, answer.StatusCode);
        Assert.Contains(told, WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation)), StringComparison.Ordinal);
        Assert.Equal(before, trial.Historian.LastSequence);
    }

    [Fact]
    public async Task What_a_version_would_have_done_is_counted_first_and_recorded_only_beside_the_verdicts()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Time.Advance(RecipeNight.Start.ToDateTimeOffset() + TimeSpan.FromMinutes(16) - trial.Time.GetUtcNow());
        RecipeNight.Live(trial.Historian, [], int.MaxValue, _ => { });
        new Analyst(trial.Historian, trial.Site.Washers).CatchUp();
        trial.Historian.AppendEvents([.. RecipeNight.Approved(2, 60, RecipeNight.Start + TimeSpan.FromMinutes(15), null)]);
        using var client = trial.Client();
        var jobs = trial.Services.GetRequiredService<RejudgeJobs>();
        var before = Judged(trial.Historian);

        var tried = await PageForm.SendAsync(client, "/recipes/full-wash/2/again", "try", ("cycles", "50"), ("washer", ""));
        Assert.Equal(HttpStatusCode.Redirect, tried.Status);
        await jobs.WaitAsync();
        var counted = WebUtility.HtmlDecode(await client.GetStringAsync("/recipes/full-wash/2/again?job=1", WebTrial.Cancellation));
        Assert.Contains("would have another verdict", counted, StringComparison.Ordinal);
        Assert.Contains("sanitiser-hold:", counted, StringComparison.Ordinal);
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-rejudged"] }));

        Assert.Equal(HttpStatusCode.Redirect, (await PageForm.SendAsync(client, "/recipes/full-wash/2/again?job=1", "record", ("reason", "deviation 12"), ("by", "Q. Ality"))).Status);
        await jobs.WaitAsync();
        var again = trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-rejudged"] }).Cast<KegRejudged>().ToList();
        Assert.NotEmpty(again);
        Assert.All(again, r => Assert.Equal(("Q. Ality", "deviation 12", 2, 1), (r.Act.By, r.Act.Reason, r.Verdict.RecipeVersion, r.WasVersion)));
        Assert.All(again, r => Assert.Contains(before, j => j.Id == r.WasId && j.Verdict.KegId == r.Verdict.KegId && j.Verdict.Verdict == r.Was));

        // Both stay, the decision goes by that of the time, and the same once more changes nothing.
        Assert.Equal(before.Select(Core.WashJson.Write), Judged(trial.Historian).Select(Core.WashJson.Write));
        var file = KegFile.Of(again[0].Verdict.KegId, trial.Historian.ReadKeg(again[0].Verdict.KegId));
        Assert.Equal(1, file.LastWash!.Judged.Verdict.RecipeVersion);
        Assert.Contains(file.Entries, e => e.Event is KegRejudged);
        var last = trial.Historian.RecordHead;
        await PageForm.SendAsync(client, "/recipes/full-wash/2/again?job=1", "record", ("reason", "deviation 12"), ("by", "Q. Ality"));
        await jobs.WaitAsync();
        Assert.Equal(last, trial.Historian.RecordHead);

        // Pages that were left open: the run is forgotten, was the recording itself, or is over.
        foreach (var (form, job, status, told) in new[] { ("record", 99, HttpStatusCode.Conflict, "no longer kept"), ("record", 2, HttpStatusCode.Conflict, "is recorded already"), ("stop", 1, HttpStatusCode.Redirect, "") })
        {
            var address = $"/recipes/full-wash/2/again?job={job}";
            var left = new PageForm(await client.ReadAsync("/recipes/full-wash/2/again?job=1"), "record") { ["_handler"] = form, ["reason"] = "deviation 12", ["by"] = "Q. Ality" };
            using var answer = await left.SendAsync(client, address);
            Assert.Equal((address, status), (address, answer.StatusCode));
            Assert.Contains(told, WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation)), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Where_no_washing_can_be_judged_again_the_page_says_so_and_offers_nothing_to_record()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Time.Advance(RecipeNight.Start.ToDateTimeOffset() + TimeSpan.FromMinutes(16) - trial.Time.GetUtcNow());
        RecipeNight.Live(trial.Historian, [], int.MaxValue, _ => { });
        new Analyst(trial.Historian, trial.Site.Washers).CatchUp();
        trial.Historian.Expire(RecipeNight.Start + TimeSpan.FromHours(1), WebTrial.Cancellation);
        using var client = trial.Client();
        Assert.Equal(HttpStatusCode.Redirect, (await PageForm.SendAsync(client, "/recipes/full-wash/1/again", "try", ("cycles", "50"), ("washer", ""))).Status);
        await trial.Services.GetRequiredService<RejudgeJobs>().WaitAsync();

        var page = await client.ReadAsync("/recipes/full-wash/1/again?job=1");

        Assert.Contains("0 would have another verdict, 0 as before, ", page, StringComparison.Ordinal);
        Assert.Contains("None of them can be judged again", page, StringComparison.Ordinal);
        Assert.DoesNotContain("id=\"reason\"", page, StringComparison.Ordinal);
        var sent = new PageForm(page, "try") { ["_handler"] = "record", ["reason"] = "deviation 12", ["by"] = "Q. Ality" };
        using var answer = await sent.SendAsync(client, "/recipes/full-wash/1/again?job=1");
        Assert.Equal(HttpStatusCode.Conflict, answer.StatusCode);
        Assert.Contains("could judge no keg", await answer.Content.ReadAsStringAsync(WebTrial.Cancellation), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_version_is_downloaded_as_a_file_that_the_binder_takes()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync("/recipes/full-wash/1/full-wash-1.yaml", WebTrial.Cancellation);
        Assert.Equal("application/yaml", answer.Content.Headers.ContentType?.MediaType);
        Assert.Equal("full-wash-1.yaml", answer.Content.Headers.ContentDisposition?.FileName);
        var read = RecipeText.Read(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation), "file", trial.Site);
        Assert.True(RecipeContent.Same(RecipeNight.Configured, read.Recipe!));
    }

    [Theory]
    [InlineData("/recipes/none")]
    [InlineData("/recipes/full-wash/7")]
    [InlineData("/recipes/full-wash/7/edit")]
    [InlineData("/recipes/full-wash/7/again")]
    [InlineData("/recipes/full-wash/compare?left=1&right=7")]
    [InlineData("/recipes/%3Cscript%3E")]
    [InlineData("/recipes/none/1/none-1.yaml")]
    public async Task What_there_is_not_is_not_found(string address)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync(address, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        Assert.DoesNotContain("<script>", (await answer.Content.ReadAsStringAsync(WebTrial.Cancellation)).Replace("<script src", "", StringComparison.Ordinal), StringComparison.Ordinal);
    }

    /// <summary>Reasons and titles come back as text.</summary>
    [Fact]
    public async Task What_people_type_never_becomes_markup()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        const string Evil = "<img src=x onerror=alert(1)>";
        await PageForm.SendAsync(client, "/recipes/full-wash", "draft", ("based", "1"), ("reason", Evil), ("by", Evil));
        var text = RecipeYaml.Write(RecipeNight.Configured with { Title = Evil });
        await PageForm.SendAsync(client, "/recipes/full-wash/2/edit?as=text", "text", ("yaml", text), ("reason", Evil), ("by", Evil));
        foreach (var address in new[] { "/recipes", "/recipes/full-wash", "/recipes/full-wash/2", "/recipes/full-wash/2/edit", "/recipes/full-wash/2/edit?as=text", "/recipes/full-wash/compare?left=1&right=2", "/recipes/full-wash/2/again" })
        {
            Assert.DoesNotContain("<img", await client.GetStringAsync(address, WebTrial.Cancellation), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_request_does_what_a_page_does_and_a_recipe_longer_than_other_bodies_is_taken()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        var text = RecipeYaml.Write(RecipeNight.Version(1, 50) with { Title = new string('x', 200) }) + string.Concat(Enumerable.Repeat("# a comment\n", 500));
        using var drafted = await client.PostAsJsonAsync("/recipe-acts", new { recipe = "full-wash", step = "draft", by = "A. Uthor", reason = "trial", text }, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Created, drafted.StatusCode);
        using var approved = await client.PostAsJsonAsync("/recipe-acts", new { recipe = "full-wash", version = 2, step = "approve", by = "Q. Ality", reason = "trial" }, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Conflict, approved.StatusCode);
        Assert.Contains("needs one that is submitted", await approved.Content.ReadAsStringAsync(WebTrial.Cancellation), StringComparison.Ordinal);
        using var unknown = await client.PostAsJsonAsync("/recipe-acts", new { recipe = "other", step = "draft", by = "A. Uthor", reason = "trial", text }, WebTrial.Cancellation);
        Assert.Contains("the draft is of other", await unknown.Content.ReadAsStringAsync(WebTrial.Cancellation), StringComparison.Ordinal);
    }

    private static List<KegJudged> Judged(IHistorianReader historian) => [.. historian.ReadEvents(new EventQuery { Kinds = ["keg-judged"] }).OfType<KegJudged>()];
}
