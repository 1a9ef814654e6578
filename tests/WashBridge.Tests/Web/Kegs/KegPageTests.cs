using System.Net;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Web;

namespace WashBridge.Tests.Web.Kegs;

public sealed class KegPageTests
{
    public static TheoryData<string> HostileIds =>
    [
        "<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>", "a/b", "a\\b", "..", ".", "../../etc/passwd", "%2e%2e%2f", "100%", "a?b=c&d#e", "K 1", "'; DROP TABLE kegs;--",
        "\u202Egnp.keg", "🍺🛢️", "كلمة", new string('x', 64), "keg", "release", "%00", "+", "{{7*7}}", "@Html", "K\u00A01",
    ];

    [Theory]
    [MemberData(nameof(HostileIds))]
    public async Task Any_id_is_found_by_its_link_and_shown_as_text(string id)
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged(id, Verdict.NotMet, Ago(trial, 1))]);
        using var client = trial.Client();

        var list = await client.GetStringAsync("/kegs", WebTrial.Cancellation);
        Assert.Contains($"href=\"{Links.Keg(id)}\"", list);
        var page = await client.GetStringAsync("/" + Links.Keg(id), WebTrial.Cancellation);

        Assert.Contains("not met", page);
        Assert.Contains(id, WebUtility.HtmlDecode(page), StringComparison.Ordinal);
        Assert.DoesNotContain("<script>alert", page + list, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("<img src=x", page + list, StringComparison.OrdinalIgnoreCase);
    }

    [Theory]
    [MemberData(nameof(HostileIds))]
    public async Task Any_id_can_be_decided_about(string id)
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged(id, Verdict.Met, Ago(trial, 1))]);
        using var client = trial.Client();
        var form = new PageForm(await client.GetStringAsync("/" + Links.Keg(id), WebTrial.Cancellation), "release") { ["by"] = "K. Wash" };

        using var answer = await form.SendAsync(client, "/" + Links.Keg(id));

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.Equal(KegStanding.Released, File(trial, id).Standing);
        Assert.Contains("The keg is released", await client.GetStringAsync(answer.Headers.Location, WebTrial.Cancellation));
    }

    [Fact]
    public async Task An_id_that_was_never_seen_is_said_to_be_and_those_near_to_it_are_offered()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged("K-0042", Verdict.Met, Ago(trial, 2)), WashedKegs.Judged("Z-9999", Verdict.Met, Ago(trial, 1))]);
        using var client = trial.Client();

        using var answer = await client.GetAsync("/kegs/keg?id=K-0024", WebTrial.Cancellation);
        var page = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);

        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        Assert.Contains("Never seen here", page);
        Assert.Contains("kegs/keg?id=K-0042", page);
        Assert.DoesNotContain("Z-9999", page);
    }

    [Fact]
    public async Task A_keg_that_is_not_met_needs_a_reason_and_the_record_says_who_and_why()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged("K-1", Verdict.NotMet, Ago(trial, 1))]);
        using var client = trial.Client();
        var form = new PageForm(await client.GetStringAsync("/kegs/keg?id=K-1", WebTrial.Cancellation), "release") { ["by"] = "K. Wash" };

        using var refused = await form.SendAsync(client, "/kegs/keg?id=K-1");
        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.Contains("nothing was decided", await refused.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-decided"] }));

        form["reason"] = "Held by hand for a minute, seen by two";
        using var taken = await form.SendAsync(client, "/kegs/keg?id=K-1");
        Assert.Equal(HttpStatusCode.Redirect, taken.StatusCode);
        var decided = Assert.IsType<KegDecided>(Assert.Single(trial.Historian.ReadEvents(new EventQuery { Kinds = ["keg-decided"] })));
        Assert.Equal(("K. Wash", "Held by hand for a minute, seen by two", Means.Page), (decided.Act.By, decided.Act.Reason, decided.Act.Means));
        Assert.Equal(Verdict.NotMet, decided.Verdict);
    }

    [Fact]
    public async Task Who_decides_on_a_page_that_is_out_of_date_is_told_and_nothing_is_decided()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged("K-1", Verdict.Met, Ago(trial, 1))]);
        using var client = trial.Client();
        var page = await client.GetStringAsync("/kegs/keg?id=K-1", WebTrial.Cancellation);
        var hold = new PageForm(page, "hold") { ["by"] = "A. First", ["reason"] = "Dented" };
        var release = new PageForm(page, "release") { ["by"] = "B. Second", ["reason"] = "All well" };
        using var held = await hold.SendAsync(client, "/kegs/keg?id=K-1");

        using var late = await release.SendAsync(client, "/kegs/keg?id=K-1");

        Assert.Equal(HttpStatusCode.Redirect, held.StatusCode);
        Assert.Equal(HttpStatusCode.Conflict, late.StatusCode);
        Assert.Contains("A. First", await late.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.Equal(KegStanding.Held, File(trial, "K-1").Standing);
    }

    /// <summary>The form that is sent is offered no longer: it is refused with the reason all the same.</summary>
    [Theory]
    [InlineData("hold", Role.Operator)]
    [InlineData("hold", Role.Qa)]
    [InlineData("release", Role.Operator)]
    public async Task What_can_no_longer_be_decided_is_refused_with_the_reason_when_it_comes_from_a_page_left_open(string decision, Role role)
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged("K-1", Verdict.Met, Ago(trial, 1))]);
        using var first = await trial.LoggedInAsync(Role.Qa, "A. First");
        using var second = await trial.LoggedInAsync(role, "B. Second");
        var left = new PageForm(await second.ReadAsync("/kegs/keg?id=K-1"), decision) { ["reason"] = "seen by two" };
        using var held = await first.SendFormAsync("/kegs/keg?id=K-1", "hold", ("reason", "Dented"));
        Assert.Equal(HttpStatusCode.Redirect, held.StatusCode);

        using var late = await left.SendAsync(second, "/kegs/keg?id=K-1");

        Assert.Equal(HttpStatusCode.Conflict, late.StatusCode);
        var page = WebUtility.HtmlDecode(await late.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.Contains("the last decision is 'hold' by 'A. First'", page, StringComparison.Ordinal);
        Assert.Equal("A. First", File(trial, "K-1").Decision!.Act.By);
    }

    [Fact]
    public async Task A_decision_without_the_token_of_its_form_is_not_taken()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged("K-1", Verdict.Met, Ago(trial, 1))]);
        using var client = trial.Client();
        var form = new PageForm(await client.GetStringAsync("/kegs/keg?id=K-1", WebTrial.Cancellation), "release") { ["by"] = "K. Wash", ["form-token"] = "made up" };

        using var answer = await form.SendAsync(client, "/kegs/keg?id=K-1");

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Equal(KegStanding.Undecided, File(trial, "K-1").Standing);
    }

    [Fact]
    public async Task The_longest_reason_in_any_script_fits()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([WashedKegs.Judged("K-1", Verdict.Met, Ago(trial, 1))]);
        using var client = trial.Client();
        var form = new PageForm(await client.GetStringAsync("/kegs/keg?id=K-1", WebTrial.Cancellation), "hold") { ["by"] = "K. Wash", ["reason"] = string.Concat(Enumerable.Repeat("樽", 500)) };

        using var answer = await form.SendAsync(client, "/kegs/keg?id=K-1");

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
    }

    internal static Instant Ago(WebTrial trial, int minutes) => Instant.Floor(trial.Time.GetUtcNow()) - TimeSpan.FromMinutes(minutes);

    internal static KegFile File(WebTrial trial, string id) => KegFile.Of(id, trial.Historian.ReadKeg(id));
}
