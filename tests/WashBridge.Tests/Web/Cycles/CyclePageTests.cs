using System.Net;
using System.Text.Json;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Tests.Web.Kegs;
using WashBridge.Web;
using WashBridge.Web.Pages.Cycles;

namespace WashBridge.Tests.Web.Cycles;

public sealed class CyclePageTests
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T05:30:00Z");

    [Fact]
    public void What_certainly_happened_and_where_an_edge_can_lie_are_told_apart()
    {
        var strip = Strip(Cycle(Start));

        var hold = strip.Lanes.Single(l => l.Kind == "steps").Bars[1];
        Assert.Equal((new StripEdge(10, 10.2), new StripEdge(45, 46)), (hold.Start, hold.End));
        Assert.Equal("step.Hold", hold.Label);
        Assert.Equal(60.2, strip.Length, 6);
        Assert.Equal(Start, strip.Origin);
    }

    [Fact]
    public void A_least_time_is_marked_from_the_latest_start_and_a_longest_from_the_earliest()
    {
        var strip = Strip(Cycle(Start));

        var least = Assert.Single(strip.Lanes.Single(l => l.Kind == "steps").Limits);
        Assert.Equal((10.2, 44.2, false), (least.From, Math.Round(least.Until, 6), least.IsMost));
        var most = Assert.Single(strip.Lanes.Single(l => l.Kind == "drains").Limits);
        Assert.Equal((45, 65, true), (most.From, most.Until, most.IsMost));
    }

    [Fact]
    public void A_clock_that_was_set_during_the_cycle_moves_nothing()
    {
        // From the second step on the wall clock reads an hour less.
        var plain = Strip(Cycle(Start));
        var set = Strip(Cycle(Start, TimeSpan.FromHours(-1)));

        Assert.True(set.IsClockSet);
        Assert.False(plain.IsClockSet);
        Assert.Equal(plain.Lanes.SelectMany(l => l.Bars).Select(b => (b.Start, b.End)), set.Lanes.SelectMany(l => l.Bars).Select(b => (b.Start, b.End)));
    }

    [Fact]
    public void Gaps_and_pauses_lie_across_all_lanes_and_an_unknown_edge_reaches_to_the_end()
    {
        var cycle = Cycle(Start) with
        {
            Gaps = [new TimeBounds(Start + TimeSpan.FromSeconds(20), Start + TimeSpan.FromSeconds(26))],
            Pauses = [new Pause(Edge(30, 30.5), Edge(40, 40.5), new DurationBounds(TimeSpan.FromSeconds(9.5), TimeSpan.FromSeconds(10.5)))],
            End = new Edge(At(60), At(60.2).SomeTimeAfter()),
        };

        var strip = Strip(cycle);

        Assert.Equal([("pause", 30, 40.5), ("gap", 20, 26)], strip.Across.Select(a => (a.Kind, a.From, a.Until)));
        Assert.Equal(60.2, strip.Length, 6);
    }

    [Fact]
    public async Task The_page_shows_the_strip_the_tables_and_every_requirements_evidence()
    {
        await using var trial = await WebTrial.StartAsync();
        Append(trial, Cycle(Start), Cycle(Start + TimeSpan.FromMinutes(5)), Cycle(Start + TimeSpan.FromMinutes(10)));
        trial.Historian.AppendEvents([WashedKegs.Judged("<i>K", Verdict.NotMet, Start + TimeSpan.FromMinutes(6), cycle: Cycle(Start + TimeSpan.FromMinutes(5)).Id)]);
        using var client = trial.Client();

        var page = await client.GetStringAsync("/" + Links.Cycle(Cycle(Start + TimeSpan.FromMinutes(5)).Id), WebTrial.Cancellation);

        Assert.Contains("class=\"strip-picture\"", page);
        Assert.Contains(Links.Cycle(Cycle(Start).Id), page);
        Assert.Contains(Links.Cycle(Cycle(Start + TimeSpan.FromMinutes(10)).Id), page);
        Assert.Contains("Hold in sanitise (pass 1) lasted 30.2 to 30.6 s; at least 34 s is asked.", page);
        Assert.Contains("30.4 (u = 0.1 s)", page);
        Assert.Contains("34.8 to 36.0 s", page);
        Assert.DoesNotContain("<i>K", page);
        Assert.DoesNotContain("style=", page);
    }

    [Fact]
    public async Task The_list_shows_cycles_the_last_first()
    {
        await using var trial = await WebTrial.StartAsync();
        Append(trial, Cycle(Start), Cycle(Start + TimeSpan.FromMinutes(5)));
        using var client = trial.Client();

        var page = await client.GetStringAsync("/cycles?washer=north", WebTrial.Cancellation);

        Assert.True(page.IndexOf("2031-03-05 05:35:00", StringComparison.Ordinal) is > 0 and var later && later < page.IndexOf("2031-03-05 05:30:00", StringComparison.Ordinal));
        Assert.Contains("2 cycles", page);
    }

    [Theory]
    [InlineData("/cycles/nothing")]
    [InlineData("/cycles/%3Cscript%3Ealert(1)%3C%2Fscript%3E")]
    public async Task A_cycle_that_nobody_knows_is_said_to_be_unknown(string address)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync(address, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        var page = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
        Assert.Contains("Nothing is known of a cycle with this id", page);
        Assert.DoesNotContain("<script>alert", page);
    }

    [Fact]
    public async Task The_signals_have_the_phases_behind_them()
    {
        await using var trial = await WebTrial.StartAsync();
        Append(trial, Cycle(Start));
        using var client = trial.Client();
        using var json = JsonDocument.Parse(await client.GetStringAsync("/" + CycleChart.Address(Cycle(Start).Id), WebTrial.Cancellation));
        Assert.Equal("sanitise", json.RootElement.GetProperty("spans")[0].GetProperty("label").GetString());
    }

    private static CycleStrip Strip(CycleRecord cycle) => CycleStrip.Of(cycle, Recipe, new WashWords(new PlainTexts<WashWords>()), (key, _) => key);

    private static Recipe Recipe { get; } = new()
    {
        Id = "r",
        Version = 1,
        Requirements =
        [
            new StepTime { Id = "hold", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(34) },
            new DrainLimit { Id = "drains", AtMost = TimeSpan.FromSeconds(20) },
        ],
    };

    private static Moment At(double seconds, TimeSpan shift = default, Instant? start = null)
    {
        var steady = (start ?? Start) + TimeSpan.FromSeconds(seconds);
        return new Moment(steady + shift, steady, 0);
    }

    private static Edge Edge(double earliest, double latest, TimeSpan shift = default, Instant? start = null) => new(At(earliest, shift, start), At(latest, shift, start));

    private static CycleRecord Cycle(Instant start, TimeSpan shift = default)
    {
        Edge E(double a, double b, bool isLater = true) => Edge(a, b, isLater ? shift : default, start);
        var (first, hold, drain, end) = (E(0, 0, false), E(10, 10.2), E(45, 46), E(60, 60.2));
        StepRecord Step(StepKind kind, Edge from, Edge until) => new() { Kind = kind, Start = from, End = until, Held = from.Until(until) };
        IReadOnlyList<StepRecord> steps = [Step(StepKind.SpearRinse, first, hold), Step(StepKind.Hold, hold, drain), Step(StepKind.Drain, drain, end)];
        return new CycleRecord
        {
            Id = $"north-{start.ToDateTimeOffset():yyyyMMdd'T'HHmmss.fff}",
            Washer = "north",
            Start = first,
            End = end,
            Outcome = CycleOutcome.Completed,
            Phases = [new PhaseRecord("sanitise", PhaseKind.Sanitise, first, end, first.Until(end), [new PassRecord(1, steps)])],
            Stations = [new StationRecord { Station = 1, KegPresent = true, Drains = [new DrainRecord("sanitise", 1, drain, E(52, 52.2), drain.Until(E(52, 52.2)), false)] }],
            Gaps = [],
            Pauses = [],
        };
    }

    private static void Append(WebTrial trial, params CycleRecord[] cycles) => trial.Historian.AppendEvents([.. cycles.Select(c => new CycleEnded { Id = c.Id + "/ended", Washer = c.Washer, At = c.End.Wall, CycleId = c.Id, Cycle = c })]);
}
