using WashBridge.Core.Verdicts;
using WashBridge.Tests.Web.Kegs;

namespace WashBridge.Tests.Web.Pages;

/// <summary>Lists that keep up with the log by themselves: what live.js asks of them.</summary>
public sealed class LiveListTests
{
    [Theory]
    [InlineData("/kegs", "keg-list")]
    [InlineData("/cycles", "cycle-list")]
    public async Task A_list_is_asked_for_anew_now_and_then(string address, string part)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        Assert.Contains($"<div id=\"{part}\" data-live-part=\"10\">", await client.GetStringAsync(address, WebTrial.Cancellation));
    }

    [Fact]
    public async Task A_row_has_an_id_of_its_own_that_stays_and_what_waits_is_said()
    {
        await using var trial = await WebTrial.StartAsync();
        var judged = WashedKegs.Judged("K-1", Verdict.Met, KegPageTests.Ago(trial, 5));
        trial.Historian.AppendEvents([judged]);
        using var client = trial.Client();
        var page = await client.GetStringAsync("/kegs", WebTrial.Cancellation);
        Assert.Contains($"<tr id=\"washing-{judged.Id}\">", page);
        Assert.Contains("data-live-held=\"keg-list\"", page);
    }

    [Fact]
    public async Task A_further_page_of_the_list_does_not_move_under_who_reads_it()
    {
        await using var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents([.. Enumerable.Range(1, 120).Select(i => WashedKegs.Judged($"K-{i:D3}", Verdict.Met, KegPageTests.Ago(trial, 200 - i)))]);
        using var client = trial.Client();
        Assert.Contains("<div id=\"keg-list\">", await client.GetStringAsync("/kegs?page=2", WebTrial.Cancellation));
    }

    [Fact]
    public async Task Who_has_not_logged_in_has_no_banner_about_what_is_not_heard()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var stranger = trial.Client();
        Assert.DoesNotContain("id=\"stale\"", await stranger.GetStringAsync("/login", WebTrial.Cancellation));
    }
}
