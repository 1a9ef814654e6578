using System.Net;
using System.Text.Json;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Orders;
using WashBridge.Web.Pages.Bathing;
using WashBridge.Web.Trends;

namespace WashBridge.Tests.Web.Trends;

public sealed class BathTests
{
    [Fact]
    public void Each_titration_is_compared_with_what_the_others_let_expect()
    {
        var strength = Enumerable.Range(1, 30).Select(n => new FigurePoint($"c{n}", Washing.At(n), n < 20 ? 60 : 40, 0)).ToList();
        var lines = TitrationComparison.Of([Titration(2, 3.0), Titration(6, 3.0), Titration(10, 3.0), Titration(25, 3.0)], strength);
        Assert.Equal(20, lines.PerStrength["%"], 9);
        Assert.Equal(40, lines.Lines[0].Conductivity);
        Assert.Equal(2.0, lines.Lines[0].Expected!.Value, 9);
        Assert.Equal(0.5, lines.Lines[0].Difference!.Value, 9);
        Assert.Equal(0.0, lines.Lines[3].Difference!.Value, 9);
    }

    [Fact]
    public void Two_titrations_are_too_few_and_one_far_from_any_cycle_has_nothing_beside_it()
    {
        FigurePoint[] strength = [new("c1", Washing.At(1), 60, 0)];
        var lines = TitrationComparison.Of([Titration(1, 3), Titration(2, 3.1), Titration(100, 3), Titration(3, 3, unit: "g/L")], strength).Lines;
        Assert.All(lines, l => Assert.Null(l.Difference));
        Assert.Equal([null, 60.0, 60.0, 60.0], lines.Select(l => l.Conductivity));
    }

    [Fact]
    public void The_habit_is_what_was_done_in_cycles_where_they_were_counted_and_else_in_days()
    {
        Instant[] changes = [Washing.Start, Washing.Start + TimeSpan.FromDays(7), Washing.Start + TimeSpan.FromDays(15), Washing.Start + TimeSpan.FromDays(22)];
        Assert.Equal(new BathHabit(null, 7, 4), BathHabit.Of(changes, []));
        Assert.Equal(new BathHabit(null, null, 1), BathHabit.Of([Washing.Start], []));
        var forecast = Washing.Forecast(5, new(Core.Upkeep.ComponentKind.Bath, "caustic"), Core.Upkeep.ForecastState.NoTrend, since: 300).Forecast;
        var scored = new ForecastScored { Id = "w/score/bath/caustic", Washer = "north", At = TimeBounds.At(Washing.Start), Score = new(forecast, Washing.Start, 120, null, "") };
        Assert.Equal(420, BathHabit.Of(changes, [scored]).Cycles);
    }

    [Theory]
    [InlineData("2.1", 2.1)]
    [InlineData("2,1", 2.1)]
    [InlineData(" 12 ", 12.0)]
    [InlineData("", null)]
    public void A_number_may_have_a_decimal_comma(string text, double? expected) => Assert.Equal(expected, Numbers.Read("strength", text));

    [Theory]
    [InlineData("1,234.5")]
    [InlineData("strong")]
    [InlineData("1e9")]
    public void What_is_no_number_is_told_with_what_was_found(string text) =>
        Assert.Contains($"strength: found '{text}'; allowed: a number such as 2.1", Assert.Throws<TellingException>(() => Numbers.Read("strength", text)).Message);

    [Fact]
    public async Task A_washer_that_measures_no_strength_says_so_and_what_then_can_be_said()
    {
        await using var trial = await TrendPagesTests.StartAsync();
        using var client = trial.Client();
        var list = await TrendPagesTests.Page(client, "/baths?washer=yard");
        Assert.Contains("No strength is measured here: only titrations tell how strong it is.", list);
        Assert.Contains("This washer measures no strength of this bath.", await TrendPagesTests.Page(client, "/baths/yard/caustic"));
        Assert.DoesNotContain("This washer measures no strength of this bath.", await TrendPagesTests.Page(client, "/baths/north/caustic"));
    }

    [Fact]
    public async Task A_titration_and_a_change_are_recorded_and_shown_beside_the_conductivity()
    {
        await using var trial = await TrendPagesTests.StartAsync();
        using var client = trial.Client();
        var page = await TrendPagesTests.Raw(client, "/baths/north/caustic");
        await Post(client, page, "titration", ("strength", "2,4"), ("unit", "%"), ("method", Washing.Nasty), ("taken", "2031-03-04T23:50"), ("by", "T. Ester"));
        await Post(client, page, "change", ("changed", "2031-03-05T05:00"), ("reason", "too weak"), ("by", "T. Ester"));
        var titration = Assert.IsType<TitrationRecorded>(Assert.Single(trial.Historian.ReadEvents(new EventQuery { Kinds = ["titration-recorded"] })));
        Assert.Equal((2.4, "%", "caustic", Means.Page), (titration.Strength, titration.Unit, titration.Bath, titration.Act.Means));
        Assert.IsType<BathChanged>(Assert.Single(trial.Historian.ReadEvents(new EventQuery { Kinds = ["bath-changed"] })));
        var after = await TrendPagesTests.Raw(client, "/baths/north/caustic?recorded=change");
        Assert.Contains("The change is recorded", after);
        Assert.Contains("2.4 %", after);
        Assert.Contains("48.2 mS/cm", after);
        Assert.Contains("2031-03-05 05:00:00 &#x2B;00:00", after);
        Assert.DoesNotContain(Washing.Nasty, after);
        using var data = JsonDocument.Parse(await client.GetStringAsync("/trends/bath/north/caustic", WebTrial.Cancellation));
        Assert.Equal(["mS/cm", "%", "°C"], data.RootElement.GetProperty("series").EnumerateArray().Select(s => s.GetProperty("unit").GetString()));
    }

    [Theory]
    [InlineData("titration", "strength", "strong", "strength: found 'strong'; allowed: a number such as 2.1")]
    [InlineData("titration", "strength", "120", "allowed: 0 to 100 %")]
    [InlineData("titration", "strength", "", "strength: found nothing")]
    [InlineData("titration", "unit", "points", "unit: found 'points'; allowed: %")]
    [InlineData("titration", "taken", "2032-03-05T05:00", "to now")]
    [InlineData("change", "changed", "noon", "changed", "allowed: an instant with its zone")]
    public async Task What_cannot_be_taken_is_told_and_nothing_typed_is_lost(string form, string field, string value, string says, string alsoSays = "")
    {
        await using var trial = await TrendPagesTests.StartAsync();
        using var client = trial.Client();
        var typed = new[] { ("strength", "2.4"), ("unit", "%"), ("method", "acid to the end"), ("taken", "2031-03-05T05:00"), ("changed", "2031-03-05T05:00"), ("reason", "too weak"), ("by", "T. Ester") }.Select(f => f.Item1 == field ? (field, value) : f).ToArray();
        using var answer = await client.PostAsync("/baths/north/caustic", new FormUrlEncodedContent(TrendPagesTests.Fields(await TrendPagesTests.Raw(client, "/baths/north/caustic"), form, typed)), WebTrial.Cancellation);
        var page = WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Contains("Not recorded.", page);
        Assert.Contains(says, page);
        Assert.Contains(alsoSays, page);
        Assert.Contains("value=\"acid to the end\"", page);
        Assert.Contains("value=\"too weak\"", page);
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["titration-recorded", "bath-changed"] }));
    }

    [Theory]
    [InlineData("/baths/north/soap", "this washer has caustic, acid, sanitiser")]
    [InlineData("/baths/nowhere/caustic", "this site has north, yard")]
    public async Task A_bath_that_there_is_not_is_said_with_those_that_there_are(string address, string says)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync(address, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        Assert.Contains(says, await answer.Content.ReadAsStringAsync(WebTrial.Cancellation));
    }

    private static async Task Post(HttpClient client, string page, string form, params (string, string)[] fields)
    {
        using var answer = await client.PostAsync("/baths/north/caustic", new FormUrlEncodedContent(TrendPagesTests.Fields(page, form, fields)), WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Found, answer.StatusCode);
    }

    private static CorrectedRecord<TitrationRecorded> Titration(int cycle, double strength, string unit = "%")
    {
        var told = new TitrationRecorded { Id = $"t{cycle}{unit}", Washer = "north", At = TimeBounds.At(Washing.At(cycle)), Act = Washing.Act(), Bath = "caustic", Strength = strength, Unit = unit };
        return new(told, told, []);
    }
}
