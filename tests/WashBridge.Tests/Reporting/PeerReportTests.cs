using System.Text.Json;
using System.Xml.Linq;
using CsvHelper;
using WashBridge.Analysing;
using WashBridge.Commands;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Reporting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Reporting;

/// <summary>How the comparison of washers and stations with their peers is told.</summary>
public sealed class PeerReportTests
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T06:00:00Z");

    [Fact]
    public void One_washer_of_six_that_is_off_is_told_in_every_form_with_size_unit_and_uncertainty()
    {
        var report = Analysis(Washers(6, 1, Steady(off: 4)));
        var table = Written("table", report);
        Assert.Contains("w4", table, StringComparison.Ordinal);
        Assert.DoesNotContain("w3", table, StringComparison.Ordinal);
        var words = string.Join(' ', table.Split([' ', '\n', '│'], StringSplitOptions.RemoveEmptyEntries));
        Assert.Contains("1 comparison with peers; chance alone would let 0.1 of them stand out.", words, StringComparison.Ordinal);

        var page = XDocument.Parse(Written("html", report).Replace("<!doctype html>", "").Replace("<meta charset=\"utf-8\">", "").Replace("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">", ""));
        var row = page.Descendants("tr").Single(r => r.Elements("td").FirstOrDefault()?.Value == "w4").Elements("td").Select(c => c.Value).ToList();
        Assert.Equal("mean pressure during spray (spray-pressure/caustic)", row[1]);
        Assert.Equal("-0.398 bar(a) (u = 0.000161)", row[2]);
        Assert.Equal("2.6 bar(a), the other 5 3 bar(a)", row[3]);
        Assert.Equal(["40", "stands out, on the bad side"], row[4..]);

        var standings = JsonDocument.Parse(Written("json", report)).RootElement.GetProperty("peers").GetProperty("families")[0];
        Assert.Equal(("spray-pressure", "bar(a)", "Lower"), (standings.GetProperty("family").GetString(), standings.GetProperty("unit").GetString(), standings.GetProperty("worse").GetString()));
        Assert.Equal(["Alike", "Alike", "Alike", "Alike", "StandsOut", "Alike"], standings.GetProperty("standings").EnumerateArray().Select(s => s.GetProperty("state").GetString()));

        Assert.Equal([("w4", "spray-pressure/caustic", "stands out")], PeerRows(report));
    }

    [Fact]
    public void Among_three_a_difference_is_told_with_the_words_that_there_are_too_few()
    {
        var report = Analysis(Washers(3, 1, Steady(off: 2)));
        Assert.Empty(report.Peers!.StandOut);
        var page = Written("html", report);
        Assert.Contains("differs; too few peers (2) to say whether that is unusual", page, StringComparison.Ordinal);
        Assert.Contains("Too few peers in 1 comparison: among fewer than 4 washers", page, StringComparison.Ordinal);
        Assert.DoesNotContain("stands out,", page, StringComparison.Ordinal);
    }

    [Fact]
    public void Of_two_that_differ_only_the_one_on_the_bad_side_is_named() =>
        Assert.Equal(["w1"], Analysis(Washers(2, 1, Steady(off: 1))).Peers!.Differing.Select(l => l.Clearest.Who));

    [Fact]
    public void Figures_of_one_family_are_one_line_and_a_station_speaks_for_its_washer()
    {
        var report = Analysis(Washers(5, 4, (w, s) => [.. new[] { "rinse", "sanitise", "acid-wash" }.Select(p => new Feature($"drain-time/{p}/1", s, 6 + (0.01 * ((w * s) % 7)) + ((w, s) == (1, 3) ? 4 : 0), 0))]));
        var line = Assert.Single(report.Peers!.StandOut);
        Assert.Equal(("w1@3", 2), (line.Clearest.Who, line.Others));
        Assert.Contains("and 2 more", PeerWords.Title(line), StringComparison.Ordinal);
    }

    [Fact]
    public void Peers_that_are_alike_are_said_to_be_so() =>
        Assert.Contains("Nobody stands out.", Written("html", Analysis(Washers(6, 1, Steady(off: -1)))), StringComparison.Ordinal);

    [Theory]
    [InlineData(0, 1, false)]
    [InlineData(1, 1, false)]
    [InlineData(1, 2, true)]
    [InlineData(2, 1, true)]
    public void Where_nobody_has_a_peer_nothing_is_said(int washers, int stations, bool isSaid)
    {
        var report = Analysis(Washers(washers, stations, Steady(off: -1)));
        Assert.Equal(isSaid, report.Peers is not null);
        Assert.Equal(isSaid, Written("html", report).Contains("Beside their peers", StringComparison.Ordinal));
        Assert.Equal(isSaid, JsonDocument.Parse(Written("json", report)).RootElement.TryGetProperty("peers", out _));
    }

    [Fact]
    public void With_too_few_cycles_it_says_what_is_missing() =>
        Assert.Contains("it takes 20 cycles of each", Written("html", Analysis(Washers(4, 1, Steady(off: -1), cycles: 19))), StringComparison.Ordinal);

    [Fact]
    public void The_last_thousand_cycles_of_each_washer_within_the_period_are_read_in_order_and_once()
    {
        using var folder = new TemporaryFolder();
        using var historian = HistorianFile.Open(folder["a.washdb"], new HistorianOptions(), TimeProvider.System);

        // 1,500 cycles in 25 days, each of which overlaps the next; and a washer with 40, of which 3 are after the period.
        historian.AppendEvents([.. Enumerable.Range(0, 1500).Select(i => Event("often", i, TimeSpan.FromMinutes(24 * i)))]);
        historian.AppendEvents([.. Enumerable.Range(0, 40).Select(i => Event("seldom", i, TimeSpan.FromHours(15 * i)))]);
        var until = Start + TimeSpan.FromHours(15 * 37);
        var read = PeerCycles.Read(historian, Start, until);
        Assert.Equal(Enumerable.Range(1388 - 1000, 1000), read["often"].Select(Number));
        Assert.Equal(Enumerable.Range(0, 37), read["seldom"].Select(Number));
        Assert.Equal(Enumerable.Range(30, 7), PeerCycles.Read(historian, Start + TimeSpan.FromHours(15 * 30), until)["seldom"].Select(Number));
        Assert.Empty(PeerCycles.Read(historian, Start - TimeSpan.FromDays(9), Start));
    }

    private static int Number(CycleFeatures features) => (int)features.Figures[0].Value;

    /// <summary>A figure that alternates between two values about 3 bar; one washer is 0.4 bar below.</summary>
    private static Func<int, int, IReadOnlyList<Feature>> Steady(int off) => (w, s) => s > 1 ? [] : [new Feature("spray-pressure/caustic", 0, (w == off ? 2.6 : 3) + (0.001 * w), 0)];

    private static Dictionary<string, IReadOnlyList<CycleFeatures>> Washers(int count, int stations, Func<int, int, IReadOnlyList<Feature>> figures, int cycles = 40) =>
        Enumerable.Range(0, count).ToDictionary(w => $"w{w}", w => (IReadOnlyList<CycleFeatures>)[.. Enumerable.Range(0, cycles).Select(i => Features(
            Start + TimeSpan.FromMinutes(4 * i),
            stations,
            [.. Enumerable.Range(1, stations).SelectMany(s => figures(w, s)).Select(f => f with { Value = f.Value + (0.001 * (i % 2)) })]))]);

    private static CycleFeatures Features(Instant ended, int stations, IReadOnlyList<Feature> figures) => new()
    {
        Outcome = CycleOutcome.Completed, Started = ended - TimeSpan.FromMinutes(3), Ended = ended, Recipe = "full-wash", RecipeVersion = 1,
        Kegs = [.. Enumerable.Range(1, stations).Select(s => new WashedKeg(s, "K"))], Figures = figures,
    };

    private static CycleMeasured Event(string washer, int number, TimeSpan after) => new()
    {
        Id = $"{washer}/{number}", Washer = washer, At = new TimeBounds(Start + after, Start + after + TimeSpan.FromMinutes(1)),
        Features = Features(Start + after, 1, [new Feature("kegs", 0, number, 0)]),
    };

    private static AnalysisReport Analysis(IReadOnlyDictionary<string, IReadOnlyList<CycleFeatures>> cycles) =>
        AnalysisReport.Of([], Start, Start + TimeSpan.FromDays(1), TimeZoneInfo.Utc) with { Peers = PeerReport.Of(cycles, null) };

    private static List<(string?, string?, string?)> PeerRows(AnalysisReport report)
    {
        using var csv = CsvReader.FromText(Written("csv", report), new CsvReaderOptions());
        csv.ReadHeader();
        var rows = new List<(string?, string?, string?)>();
        while (csv.Read())
        {
            if (csv.GetString("kind") == "peers")
            {
                rows.Add((csv.GetString("washer"), csv.GetString("subject"), csv.GetString("state")));
            }
        }

        return rows;
    }

    private static string Written(string format, AnalysisReport report)
    {
        using var output = new StringWriter();
        AnalyseCommand.Write(report, format, output);
        return output.ToString();
    }
}
