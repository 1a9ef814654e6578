using System.Text.Json;
using System.Xml.Linq;
using CsvHelper;
using Spectre.Console;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting;

namespace WashBridge.Tests.Reporting;

public sealed class ReportTests
{
    private const string NastyKeg = "K<script>alert(1)</script>,\"7\"";

    private static readonly Report Report = new(null, null, TimeZoneInfo.Utc, [Cycle()], [Keg("K-1", Verdict.Met), Keg(NastyKeg, Verdict.NotMet), Keg("K-3", Verdict.NotProven)]);

    private static Edge Edge(double earliest, double latest)
    {
        Moment At(double second) => new(new Instant((long)(second * 1e6)), new Instant((long)(second * 1e6)), 0);
        return new Edge(At(earliest), At(latest));
    }

    private static CycleRecord Cycle() => new()
    {
        Id = "c1",
        Washer = "w1",
        Start = Edge(0, 0.1),
        End = Edge(200, 200.1),
        Outcome = CycleOutcome.Completed,
        Phases =
        [
            new PhaseRecord("sanitise", PhaseKind.Sanitise, Edge(1, 1.1), Edge(50, 50.1), new DurationBounds(TimeSpan.FromSeconds(48.94), TimeSpan.FromSeconds(49.11)),
            [
                new PassRecord(1, [new StepRecord { Kind = StepKind.Hold, Start = Edge(1, 1.1), End = Edge(50, 50.1), Held = new DurationBounds(TimeSpan.FromSeconds(48.94), TimeSpan.FromSeconds(49.11)) }]),
            ]),
        ],
        Stations = [new StationRecord { Station = 1, Drains = [new DrainRecord("sanitise", 1, Edge(50, 50.1), null, new DurationBounds(TimeSpan.FromSeconds(9), TimeSpan.MaxValue), false)] }],
        Gaps = [],
        Pauses = [],
    };

    private static KegLine Keg(string id, Verdict verdict) => new(new Instant(200_100_000), new KegVerdict
    {
        KegId = id,
        KegIdSource = KegIdSource.Scan,
        CycleId = "c1",
        Washer = "w1",
        Station = 1,
        Recipe = "house",
        RecipeVersion = 3,
        Rule = DecisionRule.Bounds,
        Verdict = verdict,
        Results =
        [
            new RequirementResult { Requirement = "order", Verdict = Verdict.Met, Evidence = "all phases ran" },
            new RequirementResult { Requirement = "dwell", Verdict = verdict, Lower = 48.94, Upper = 49.11, Limit = 45, Unit = "s", Evidence = "held & watched" },
        ],
    });

    [Fact]
    public void The_page_is_well_formed_and_shows_text_as_text()
    {
        var page = Html();

        var document = XDocument.Parse(page.Replace("<!doctype html>", "").Replace("<meta charset=\"utf-8\">", "").Replace("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">", ""));
        Assert.Empty(document.Descendants("script"));
        Assert.Contains(document.Descendants("h3"), h => h.Value == NastyKeg);
        Assert.Contains(document.Descendants("li"), li => li.Value == "dwell: held & watched");
    }

    [Fact]
    public void The_page_loads_nothing_from_elsewhere_and_carries_the_cautions()
    {
        var page = Html();

        Assert.DoesNotContain("http", page);
        Assert.DoesNotContain("src=", page);
        Assert.Contains(System.Net.WebUtility.HtmlEncode(Words.Caution), page);
        Assert.Contains(System.Net.WebUtility.HtmlEncode(Words.Claim), page);
    }

    [Fact]
    public void Printed_bounds_are_rounded_outwards()
    {
        Assert.Equal("48.9 to 49.2 s", Words.Of(new DurationBounds(TimeSpan.FromSeconds(48.94), TimeSpan.FromSeconds(49.11))));
        Assert.Equal("at least 9.0 s", Words.Of(new DurationBounds(TimeSpan.FromSeconds(9), TimeSpan.MaxValue)));
    }

    [Fact]
    public void The_spreadsheet_has_a_row_for_each_requirement_and_reads_back()
    {
        var text = new StringWriter();
        CsvReport.Write(Report, text);

        using var csv = CsvReader.FromText(text.ToString(), new CsvReaderOptions());
        csv.ReadHeader();
        var rows = new List<string[]>();
        while (csv.Read())
        {
            rows.Add([.. ((string[])["keg", "keg_verdict", "requirement", "verdict", "lower", "limit"]).Select(csv.GetString)]);
        }

        Assert.Equal(6, rows.Count);
        Assert.Equal(NastyKeg, rows[2][0]);
        Assert.Equal([NastyKeg, "not met", "dwell", "not met", "48.94", "45"], rows[3]);
    }

    [Fact]
    public void The_document_holds_cycles_and_kegs()
    {
        var text = new StringWriter();
        JsonReport.Write(Report, text);

        var root = JsonDocument.Parse(text.ToString()).RootElement;
        Assert.Equal("c1", root.GetProperty("cycles")[0].GetProperty("id").GetString());
        Assert.Equal(NastyKeg, root.GetProperty("kegs")[1].GetProperty("kegId").GetString());
    }

    [Fact]
    public void The_table_counts_and_gives_reasons()
    {
        var text = new StringWriter();
        var console = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(text), Ansi = AnsiSupport.No });
        console.Profile.Width = 200;

        TableReport.Write(Report, console);

        Assert.Contains("1 cycles, 3 kegs: 1 met, 1 not met, 1 not proven.", text.ToString());
        Assert.Contains("dwell: held & watched", text.ToString());
        Assert.Contains("NOT MET", text.ToString());
    }

    private static string Html()
    {
        var text = new StringWriter();
        HtmlReport.Write(Report, text);
        return text.ToString();
    }
}
