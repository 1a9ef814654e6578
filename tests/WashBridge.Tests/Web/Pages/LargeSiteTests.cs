using System.Net;
using System.Text;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Tests.Web.Trends;
using WashBridge.Web.Trends;

namespace WashBridge.Tests.Web.Pages;

/// <summary>Pages that tell everything of few washers tell a line each of many, and the rest when one is chosen.</summary>
public sealed class LargeSiteTests
{
    /// <summary>A page of 250 washers is to be light on a phone at the line: 1 kB each.</summary>
    private const int MostBytes = 250 * 1024;

    [Fact]
    public async Task The_setup_check_of_many_washers_is_a_line_each_the_ones_that_lack_most_first_and_leads_to_the_whole_of_one()
    {
        await using var trial = await WebTrial.StartAsync(site: s => Many(s, 250, lacking: "w7"));
        using var client = trial.Client();

        var page = await client.ReadAsync("/setup");
        Assert.InRange(Encoding.UTF8.GetByteCount(page), 1, MostBytes);
        Assert.Contains("1 of 250 washers have requirements that cannot be judged", page, StringComparison.Ordinal);
        var links = page.Split("href=\"setup?washer=").Skip(1).Select(l => l[..l.IndexOf('"', StringComparison.Ordinal)]).ToList();
        Assert.Equal(["w7", "w0", "w1"], links.Take(3));
        Assert.Equal(250, links.Distinct(StringComparer.Ordinal).Count());
        Assert.DoesNotContain("id=\"setup-", page, StringComparison.Ordinal);

        var one = await client.ReadAsync("/setup?washer=w7");
        Assert.Equal(1, Count(one, "id=\"setup-"));
        Assert.Contains("id=\"setup-w7\"", one, StringComparison.Ordinal);
        Assert.Contains("id=\"missing-w7\"", one, StringComparison.Ordinal);
        Assert.DoesNotContain("href=\"setup?washer=", one, StringComparison.Ordinal);
        Assert.Contains("<option value=\"w7\" selected", one, StringComparison.Ordinal);

        // What is no washer chooses none.
        Assert.Equal(250, Count(await client.ReadAsync("/setup?washer=nobody"), "href=\"setup?washer="));
    }

    [Fact]
    public async Task The_drifts_of_many_washers_are_a_line_for_each_that_drifts_and_lead_to_the_drifts_and_figures_of_one()
    {
        await using var trial = await WebTrial.StartAsync(site: s => Many(s, 250));
        trial.Historian.AppendEvents([.. trial.Site.Washers.Select(w => Of(Washing.Cycle(1, figures: [new Feature("strength/caustic", 0, 60, 0.1), new Feature("temperature-mean/caustic", 0, 71, 0.1)]), w.Model.Washer))]);
        trial.Historian.AppendEvents([Of(Washing.Drift(5, "level/acid", size: 5), "w3"), Of(Washing.Drift(5, "drain-index@2"), "w5"), Of(Washing.Drift(6, "strength/caustic", size: -2), "w5")]);
        using var client = trial.Client();

        var page = WebUtility.HtmlDecode(await client.ReadAsync("/drift"));
        Assert.InRange(Encoding.UTF8.GetByteCount(page), 1, MostBytes);
        Assert.Contains("3 things drift.", page, StringComparison.Ordinal);
        Assert.DoesNotContain("<article", page, StringComparison.Ordinal);
        Assert.DoesNotContain("id=\"figure-", page, StringComparison.Ordinal);
        Assert.Contains("Choose its washer first.", page, StringComparison.Ordinal);
        var rows = page.Split("href=\"drift?washer=").Skip(1).Select(r => r[..r.IndexOf("</tr>", StringComparison.Ordinal)]).ToList();
        Assert.Equal(["w5", "w3"], rows.Select(r => r[..r.IndexOf('"', StringComparison.Ordinal)]));
        Assert.Contains("<td class=\"number\">2</td>", rows[0], StringComparison.Ordinal);
        Assert.Contains("<td class=\"number\">1</td>", rows[1], StringComparison.Ordinal);

        var one = WebUtility.HtmlDecode(await client.ReadAsync("/drift?washer=w5"));
        Assert.Equal(2, Count(one, "<article"));
        Assert.Equal(1, Count(one, "id=\"figure-"));
        Assert.Contains("id=\"figure-w5\"", one, StringComparison.Ordinal);
        Assert.DoesNotContain("href=\"drift?washer=", one, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Of_as_many_washers_as_fit_everything_is_told_at_once()
    {
        await using var trial = await WebTrial.StartAsync(site: s => Many(s, SiteWashers.MostAtOnce));
        trial.Historian.AppendEvents([.. trial.Site.Washers.Select(w => Of(Washing.Cycle(1, figures: [new Feature("strength/caustic", 0, 60, 0.1)]), w.Model.Washer))]);
        trial.Historian.AppendEvents([Of(Washing.Drift(5, "drain-index@2"), "w5")]);
        using var client = trial.Client();

        var setup = await client.ReadAsync("/setup");
        Assert.Equal(SiteWashers.MostAtOnce, Count(setup, "id=\"setup-"));
        Assert.DoesNotContain("setup?washer=", setup, StringComparison.Ordinal);
        var drift = await client.ReadAsync("/drift");
        Assert.Equal(1, Count(drift, "<article"));
        Assert.Equal(SiteWashers.MostAtOnce, Count(drift, "id=\"figure-"));
    }

    /// <summary>As many as the first washer of the site, one of which may lack the temperature of its caustic.</summary>
    private static Site Many(Site site, int washers, string? lacking = null) => site with { Washers = [.. Enumerable.Range(0, washers).Select(n => Like(site.Washers[0], $"w{n}", $"w{n}" == lacking))] };

    private static WasherConfiguration Like(WasherConfiguration washer, string id, bool isLacking) => washer with
    {
        Title = $"Hall {id}",
        Model = washer.Model with { Washer = id, Signals = [.. washer.Model.Signals.Where(s => !isLacking || s.Name != "temperature.caustic").Select(s => s with { Washer = id })] },
        Tags = [.. washer.Tags.Where(t => !isLacking || t.Signal.Name != "temperature.caustic").Select(t => t with { Signal = t.Signal with { Washer = id } })],
    };

    private static WashEvent Of(WashEvent washEvent, string washer) => washEvent with { Id = $"{washer}/{washEvent.Id}", Washer = washer };

    private static int Count(string page, string text) => page.Split(text).Length - 1;
}
