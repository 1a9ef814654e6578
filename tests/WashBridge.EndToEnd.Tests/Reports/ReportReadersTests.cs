using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using DuckDB.NET.Data;
using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;
using WashBridge.EndToEnd.Tests.Program;
using WashBridge.Historian;
using WashBridge.Reporting;
using WashBridge.Reporting.Documents;
using WashBridge.Reporting.Writing;
using WashBridge.Tests.Reporting.Desk;

namespace WashBridge.EndToEnd.Tests.Reports;

/// <summary>Reports as programs read them that know nothing of this one: poppler and qpdf, DuckDB, Python's csv, and a browser.</summary>
public sealed partial class ReportReadersTests(ReportStore store) : IClassFixture<ReportStore>, IDisposable
{
    private const string Chromium = "/usr/bin/chromium";

    private readonly TemporaryFolder _folder = new();

    public static TheoryData<string> Kinds => [.. ReportDesk.Kinds.Select(k => k.ToString())];

    private KegJudged Missed => Judged.First(k => k.Verdict is { Washer: "north", Verdict: Verdict.NotMet });

    private List<KegJudged> Judged => [.. store.Historian.ReadEvents(new EventQuery { Kinds = ["keg-judged"] }).OfType<KegJudged>()];

    public void Dispose() => _folder.Dispose();

    [Theory]
    [MemberData(nameof(Kinds))]
    public async Task A_pdf_is_sound_and_its_text_is_that_of_the_report(string kind)
    {
        var document = Make(Enum.Parse<ReportKind>(kind));
        var file = await WriteAsync(document, ReportFormat.Pdf);
        await OutsideReader.ReadAsync("qpdf", "--check", file);
        Assert.Contains("Title:           " + document.Title, await OutsideReader.ReadAsync("pdfinfo", file));
        Assert.All((await OutsideReader.ReadAsync("pdffonts", file)).Split('\n').Skip(2).Where(l => l.Length > 0), l => Assert.Matches(@" yes yes yes +\d+ +0$", l));

        // Lines are broken to fit: the text is compared without spaces.
        var text = Spaces().Replace(await OutsideReader.ReadAsync("pdftotext", "-raw", file, "-"), "");
        Assert.Contains(Spaces().Replace(document.Cautions[0], ""), text);
        Assert.All(document.WholeSections, s => Assert.Contains(Spaces().Replace(PdfText.Drawable(s.Title), ""), text));
        Assert.All(document.Facts, f => Assert.Contains(Spaces().Replace(f.Label + PdfText.Drawable(CellWords.Of(f.Value, document.Basis.Zone)), ""), text));
    }

    [Fact]
    public async Task Every_id_is_in_a_pdf_as_letters_or_by_its_numbers()
    {
        foreach (var id in ReportStore.HostileIds.Intersect(Judged.Select(k => k.Verdict.KegId)))
        {
            var file = await WriteAsync(ReportDesk.Make(new ReportWish(ReportKind.Certificate) { Keg = id }, store.Historian, store.Site), ReportFormat.Pdf);
            await OutsideReader.ReadAsync("qpdf", "--check", file);
            Assert.Contains(Spaces().Replace(PdfText.Drawable(id), ""), Spaces().Replace(Footers().Replace(await OutsideReader.ReadAsync("pdftotext", "-raw", file, "-"), ""), ""));
        }
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public async Task Duckdb_reads_the_same_figures_from_parquet(string kind)
    {
        var document = Make(Enum.Parse<ReportKind>(kind));
        var file = await WriteAsync(document, ReportFormat.Parquet);
        using var duck = new DuckDBConnection("Data Source=:memory:");
        duck.Open();
        using var command = duck.CreateCommand();
        command.CommandText = $"SELECT part, row, figure, kind, text, value, lower, upper, unit, epoch_us(earliest_utc), epoch_us(latest_utc), sources, typeof(earliest_utc) FROM read_parquet('{file}')";
        using var rows = command.ExecuteReader();
        foreach (var expected in FigureRows.Of(document))
        {
            Assert.True(rows.Read());
            T? Get<T>(int i)
                where T : struct => rows.IsDBNull(i) ? null : rows.GetFieldValue<T>(i);
            Assert.Equal((expected.Part, expected.Row, expected.Figure, expected.Kind, expected.Text), (rows.GetString(0), rows.GetInt32(1), rows.GetString(2), rows.GetString(3), rows.GetString(4)));
            Assert.Equal((expected.Value, expected.Lower, expected.Upper), (Get<double>(5), Get<double>(6), Get<double>(7)));
            Assert.Equal(expected.Unit, rows.IsDBNull(8) ? null : rows.GetString(8));
            Assert.Equal((expected.Earliest?.UnixMicroseconds, expected.Latest?.UnixMicroseconds), (Get<long>(9), Get<long>(10)));
            Assert.Equal((expected.Sources, "TIMESTAMP"), (rows.GetString(11), rows.GetString(12)));
        }

        Assert.False(rows.Read());
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public async Task Python_reads_the_same_figures_from_csv(string kind)
    {
        var document = Make(Enum.Parse<ReportKind>(kind));
        var file = await WriteAsync(document, ReportFormat.Csv);
        var json = await OutsideReader.ReadAsync("python3", "-c", "import csv, json, sys; print(json.dumps(list(csv.reader(open(sys.argv[1], encoding='utf-8', newline=''), strict=True))))", file);
        var rows = JsonSerializer.Deserialize<string[][]>(json)!;
        var expected = FigureRows.Of(document).ToList();
        Assert.Equal(expected.Count, rows.Length - 1);
        foreach (var (figure, row) in expected.Zip(rows.Skip(1)))
        {
            static double? Number(string text) => text.Length == 0 ? null : double.Parse(text, CultureInfo.InvariantCulture);
            Assert.Equal((figure.Part, figure.Row.ToString(CultureInfo.InvariantCulture)), (row[1], row[2]));
            Assert.Equal(figure.Text, row[6].StartsWith('\'') && row[6] != figure.Text ? row[6][1..] : row[6]);
            Assert.Equal((figure.Value, figure.Lower, figure.Upper), (Number(row[7]), Number(row[8]), Number(row[9])));
            Assert.DoesNotContain(row.Where((_, i) => i is 0 or 1 or 3 or 4 or 6), c => c.Length > 0 && "=+-@\t\r\n".Contains(c[0]));
        }
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public async Task A_browser_shows_the_page_and_prints_it_with_page_numbers(string kind)
    {
        var document = Make(Enum.Parse<ReportKind>(kind));
        var file = await WriteAsync(document, ReportFormat.Html);
        var printed = _folder["printed.pdf"];
        string[] quiet = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync", $"--user-data-dir={_folder["browser"]}"];
        await OutsideReader.ReadAsync(Chromium, [.. quiet, "--no-pdf-header-footer", $"--print-to-pdf={printed}", new Uri(file).AbsoluteUri]);
        var text = Spaces().Replace(await OutsideReader.ReadAsync("pdftotext", "-raw", printed, "-"), "");
        var pages = PageCount().Match(await OutsideReader.ReadAsync("pdfinfo", printed)).Groups[1].Value;
        Assert.Contains($"Page{pages}of{pages}", text);
        Assert.Contains(Spaces().Replace(document.Cautions[0], ""), text);

        // Nobody's id became an element: the page has the elements that it was written with.
        var tree = await OutsideReader.ReadAsync(Chromium, [.. quiet, "--dump-dom", new Uri(file).AbsoluteUri]);
        Assert.DoesNotContain("<script", tree);
        Assert.Single(Regex.Matches(tree, "<style>"));
        Assert.EndsWith("</body></html>", tree.Replace("\n", ""));
    }

    private Document Make(ReportKind kind) => ReportDesk.Make(
        new ReportWish(kind) { Keg = kind is ReportKind.Certificate or ReportKind.Deviation ? Missed.Verdict.KegId : null }, store.Historian, store.Site, TestContext.Current.CancellationToken);

    private async Task<string> WriteAsync(Document document, ReportFormat format)
    {
        var file = _folder[ReportDesk.FileName(document, format)];
        await using var stream = File.Create(file);
        await ReportDesk.WriteAsync(document, format, stream, TestContext.Current.CancellationToken);
        return file;
    }

    [GeneratedRegex(@"\s+")]
    private static partial Regex Spaces();

    /// <summary>A long id goes on over the foot of a page.</summary>
    [GeneratedRegex(@"^As of log entry \d+\. .*\n?|^Page \d+ of \d+\n?", RegexOptions.Multiline)]
    private static partial Regex Footers();

    [GeneratedRegex(@"Pages: +(\d+)")]
    private static partial Regex PageCount();
}
