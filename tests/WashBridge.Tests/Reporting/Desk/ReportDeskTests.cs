using System.Text;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Reporting;
using WashBridge.Reporting.Documents;
using WashBridge.Reporting.Writing;

namespace WashBridge.Tests.Reporting.Desk;

public sealed partial class ReportDeskTests(ReportStore store) : IClassFixture<ReportStore>
{
    /// <summary>Columns that say which row it is, or what was approved, and are no figures of the log.</summary>
    private static readonly string[] NoFigures = ["pass", "station", "washings in the period", "approved", "from", "to"];

    private IReadOnlyList<KegJudged> Judged => [.. store.Historian.ReadEvents(new EventQuery { Kinds = ["keg-judged"] }).OfType<KegJudged>()];

    private KegJudged Missed => Judged.First(k => k.Verdict is { Washer: "north", Verdict: Verdict.NotMet });

    [Fact]
    public void A_certificate_has_every_figure_of_the_verdict_unrounded()
    {
        foreach (var judged in Judged)
        {
            var table = Tables(Make(new(ReportKind.Certificate) { Keg = judged.Verdict.KegId, Cycle = judged.CycleId })).Single(t => t.Id == "requirements");
            Assert.Equal(judged.Verdict.Results.Count, table.Rows.Count);
            foreach (var (result, row) in judged.Verdict.Results.Zip(table.Rows))
            {
                Assert.Contains(result.Requirement, Assert.IsType<TextCell>(row[0]).Text);
                Assert.Equal(result.Verdict, Assert.IsType<VerdictCell>(row[5]).Verdict);
                Assert.Equal(result.Evidence, Assert.IsType<TextCell>(row[6]).Text);
                Assert.Equal((result.Lower, result.Lower is null ? null : result.Upper, result.Lower is null ? null : result.Unit), row[2] is BoundsCell bounds ? (bounds.Lower, bounds.Upper, bounds.Unit) : (null, (double?)null, null));
                Assert.Equal(result.Estimate, (row[3] as NumberCell)?.Value);
                Assert.Equal(result.StandardUncertainty, (row[4] as NumberCell)?.Value);
            }
        }
    }

    [Fact]
    public void Every_source_is_found_again_in_the_log()
    {
        var (samples, events) = (0, 0);
        foreach (var document in All())
        {
            foreach (var trace in document.Traces.OfType<SampleTrace>().Where(t => t.FirstSequence is not null))
            {
                var entries = store.Historian.ReadLog(trace.FirstSequence!.Value - 1, 100_000, LogContent.Frames, trace.Washer).TakeWhile(e => e.Sequence <= trace.LastSequence).ToList();
                Assert.Equal((trace.FirstSequence, trace.LastSequence), (entries[0].Sequence, entries[^1].Sequence));
                var group = entries[0].Frame!.Group;
                var own = entries.Select(e => e.Frame!).Where(f => f.Group == group && f.Kind != FrameKind.Clock && f.Read.Earliest >= trace.From && f.Read.Latest <= trace.Until).ToList();
                Assert.Equal((trace.Polls, trace.Failed), (own.Count(f => f.Kind != FrameKind.Failed), own.Count(f => f.Kind == FrameKind.Failed)));
                Assert.Equal(trace.Samples, own.Sum(f => f.Samples.Count(s => trace.Signals.Contains(s.Signal.ToString()))));

                // The same values by the other way in: signal and span.
                foreach (var signal in store.Historian.Signals.Where(s => trace.Signals.Contains(s.ToString())))
                {
                    var read = store.Historian.ReadSamples(signal, trace.From!.Value, trace.Until!.Value).Where(s => s.At.Latest >= trace.From).Select(s => (s.At, s.Value)).ToHashSet();
                    Assert.All(own.SelectMany(f => f.Samples).Where(s => s.Signal == signal), s => Assert.Contains((s.At, s.Value), read));
                }

                samples++;
            }

            foreach (var trace in document.Traces.OfType<EventTrace>())
            {
                var query = new EventQuery { Washer = trace.Washer, Kinds = trace.Kinds, CycleId = trace.CycleId, From = trace.From, Until = trace.Until };
                var found = store.Historian.ReadEventLog(query).Where(e => e.Sequence >= trace.FirstSequence && e.Sequence <= trace.LastSequence).ToList();
                Assert.True(found.Count >= trace.Events, $"{document.Title}, {trace}: {found.Count} events");
                Assert.Equal((trace.FirstSequence, trace.LastSequence), found.Count == 0 ? (null, null) : (found[0].Sequence, found[^1].Sequence));
                events += trace.Events;
            }
        }

        Assert.True(samples > 20 && events > 100, $"{samples} and {events} found again");
    }

    [Fact]
    public void Every_figure_names_a_source_that_the_report_lists()
    {
        foreach (var document in All())
        {
            var known = document.Traces.Select(t => t.Number).ToHashSet();
            Assert.Equal(Enumerable.Range(1, document.Traces.Count), document.Traces.Select(t => t.Number));
            foreach (var table in document.Sections.SelectMany(s => s.Blocks).OfType<Table>())
            {
                foreach (var row in table.Rows)
                {
                    Assert.Equal(table.Columns.Count, row.Count);
                    foreach (var (cell, column) in row.Zip(table.Columns).Where(c => c.First is NumberCell or BoundsCell && !NoFigures.Contains(c.Second)))
                    {
                        Assert.True(cell.Traces.Count > 0, $"{document.Title}, {table.Id}, {column}: {CellWords.Of(cell, TimeZoneInfo.Utc)} names no source");
                    }

                    Assert.All(row.SelectMany(c => c.Traces), t => Assert.Contains(t, known));
                }
            }
        }
    }

    [Theory]
    [InlineData("Html")]
    [InlineData("Pdf")]
    [InlineData("Csv")]
    [InlineData("Parquet")]
    [InlineData("Json")]
    [InlineData("Table")]
    public async Task The_same_report_is_written_with_the_same_bytes(string name)
    {
        var format = Enum.Parse<ReportFormat>(name);
        foreach (var wish in Wishes().Where(w => w.Keg is null || w.Keg == Missed.Verdict.KegId || w.Keg == ReportStore.HostileIds[6]))
        {
            var (first, second) = (await WriteAsync(Make(wish), format), await WriteAsync(Make(wish), format));
            Assert.NotEmpty(first);
            Assert.Equal(first, second);
        }
    }

    [Fact]
    public async Task A_page_is_well_formed_loads_nothing_and_runs_nothing()
    {
        foreach (var document in All())
        {
            var page = Encoding.UTF8.GetString(await WriteAsync(document, ReportFormat.Html));
            var tree = XDocument.Parse(page.Replace("<!doctype html>", "").Replace("<meta charset=\"utf-8\">", "").Replace("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">", ""));
            var elements = tree.Descendants().ToList();
            Assert.Single(elements, e => e.Name.LocalName == "style");
            Assert.DoesNotContain(elements, e => e.Name.LocalName is "script" or "link" or "img" or "iframe" or "object" or "a");
            Assert.DoesNotContain(elements.Attributes(), a => a.Name.LocalName == "style" || a.Name.LocalName.StartsWith("on", StringComparison.Ordinal) || a.Name.LocalName is "src" or "href");
            Assert.Equal(tree.Descendants("style").Single().Value, DocumentStyle.InPage);
            Assert.Contains(document.Cautions[0], tree.Root!.Value);
            Assert.All(document.Claims, c => Assert.Contains(c, tree.Root.Value));
        }
    }

    [Fact]
    public async Task No_cell_of_a_csv_file_can_begin_a_formula()
    {
        foreach (var document in All())
        {
            using var reader = CsvHelper.CsvReader.FromText(Encoding.UTF8.GetString(await WriteAsync(document, ReportFormat.Csv)), new CsvHelper.CsvReaderOptions());
            foreach (var row in Rows(reader))
            {
                Assert.Equal(14, row.Length);
                Assert.All(row, c => Assert.True(c.Length == 0 || !"=+-@\t\r\n\uFF1D\uFF0B\uFF0D\uFF20".Contains(c[0]) || Number().IsMatch(c), c));
            }
        }
    }

    [Fact]
    public void Ids_that_can_harm_are_shown_harmlessly_and_never_name_a_file()
    {
        foreach (var id in ReportStore.HostileIds.Where(i => Judged.Any(k => k.Verdict.KegId == i)))
        {
            var document = Make(new(ReportKind.Certificate) { Keg = id });
            Assert.Matches("^[a-z0-9-]{1,60}\\.pdf$", ReportDesk.FileName(document, ReportFormat.Pdf));
            var drawable = PdfText.Drawable(id);
            Assert.DoesNotContain(drawable, c => char.IsSurrogate(c) || char.IsControl(c) || c is >= '\u0590' and <= '\u08ff' or >= '\u202a' and <= '\u202e');
        }

        Assert.Equal("<U+202E>gnp.exe", PdfText.Drawable("\u202Egnp.exe"));
        Assert.Equal("<U+1F37A>K \u00e9\u03a9\u0416", PdfText.Drawable("\U0001F37AK \u00e9\u03a9\u0416"));
        Assert.Equal("<U+D83C>", PdfText.Drawable("\ud83c"));
        Assert.True(Judged.Select(k => k.Verdict.KegId).Intersect(ReportStore.HostileIds).Count() >= 8, "the ids were scanned");
    }

    [Fact]
    public void A_lot_counts_each_keg_by_its_last_washing_and_names_those_not_washed()
    {
        var kegs = Judged.Where(k => k.Verdict.Washer == "north").GroupBy(k => k.Verdict.KegId).Select(g => g.MaxBy(k => k.At.Latest)!.Verdict).ToList();
        var document = Make(new(ReportKind.Lot) { Washer = "north" });
        Assert.Equal(kegs.Count, Tables(document).Single(t => t.Id == "kegs").Rows.Count);
        foreach (var (verdict, label) in new[] { (Verdict.Met, "Met"), (Verdict.NotMet, "Not met"), (Verdict.NotProven, "Not proven") })
        {
            Assert.Equal(kegs.Count(k => k.Verdict == verdict), Assert.IsType<NumberCell>(document.Facts.Single(f => f.Label == label).Value).Value);
        }

        var named = Make(new(ReportKind.Lot) { Kegs = [kegs[0].KegId, "K-never"] });
        Assert.Equal(["K-never"], named.Sections.Single(s => s.Title.StartsWith("Named", StringComparison.Ordinal)).Blocks.OfType<Bullets>().Single().Items);
        Assert.Equal(1, Assert.IsType<NumberCell>(named.Facts[0].Value).Value);
    }

    [Fact]
    public void A_setting_off_the_recipe_lists_the_keg_whose_cycle_ran_meanwhile_though_it_ended_after()
    {
        var document = Make(new(ReportKind.Deviation) { Setpoint = "sanitise.hold" });
        var deviation = store.Historian.ReadEvents(new EventQuery { Kinds = ["setpoint-deviated"] }).OfType<SetpointDeviated>().Single();
        var figures = Tables(document).Single(t => t.Id == "deviation-1").Rows.ToDictionary(r => ((TextCell)r[0]).Text, r => r[1]);
        Assert.Equal((deviation.Finding.Approved, deviation.Finding.Set), (((NumberCell)figures["approved"]).Value, ((NumberCell)figures["set"]).Value));
        Assert.Contains(Missed.Verdict.KegId, Tables(document).Single(t => t.Id == "kegs-1").Rows.Select(r => ((TextCell)r[0]).Text));
    }

    [Fact]
    public void A_period_is_compared_with_the_one_before_and_says_when_the_log_has_none()
    {
        var middle = ReportStore.Start + TimeSpan.FromMinutes(7);
        var document = Make(new(ReportKind.Shift) { From = middle, Until = middle + TimeSpan.FromMinutes(7) });
        var row = Tables(document).Single(t => t.Id == "compared").Rows.Single(r => ((TextCell)r[0]).Text == "kegs");
        int Kegs(Instant from, Instant until) => Judged.Count(k => k.At.Latest >= from && k.At.Latest < until);
        var (now, before) = (Kegs(middle, middle + TimeSpan.FromMinutes(7)), Kegs(ReportStore.Start, middle));
        Assert.True(now > 0 && before > 0);
        Assert.Equal([now, before, now - before], row.Skip(1).Select(c => ((NumberCell)c).Value));

        var first = Make(new(ReportKind.Shift));
        Assert.Equal("Shift of 2031-03-05, 06:00 to 22:00", first.Title);
        Assert.StartsWith("nothing: the log begins at 2031-03-05 0", ((TextCell)first.Facts.Single(f => f.Label == "Compared with").Value).Text, StringComparison.Ordinal);
        Assert.Contains(first.Facts, f => f.Label == "Not over");
    }

    [Fact]
    public void A_month_has_the_local_days_of_its_zone()
    {
        var zone = TimeZoneInfo.FindSystemTimeZoneById("Pacific/Auckland");
        var document = Make(new(ReportKind.Month) { Zone = zone });
        Assert.Equal("Month 2031-03", document.Title);
        Assert.Equal("2031-03-01 00:00:00 +13:00", CellWords.Of(document.Facts[0].Value, zone));
        Assert.Equal("2031-04-01 00:00:00 +13:00", CellWords.Of(document.Facts[1].Value, zone));
        Assert.Equal("2031-03-05", ((TextCell)Tables(document).Single(t => t.Id == "days").Rows[0][0]).Text);
    }

    [Fact]
    public void What_cannot_be_told_says_what_was_found_and_what_is_allowed()
    {
        (ReportWish Wish, string Problem)[] wrong =
        [
            (new(ReportKind.Certificate), "keg: found none"),
            (new(ReportKind.Certificate) { Keg = "K-never" }, "keg: found K-never, which was not washed"),
            (new(ReportKind.Certificate) { Keg = "K-never", Cycle = "c-never" }, "cycle: found c-never"),
            (new(ReportKind.Certificate) { Keg = "K-never", Cycle = Missed.CycleId }, $"with the kegs {Missed.Verdict.KegId}"),
            (new(ReportKind.Lot) { Washer = "south" }, "washer: found south; allowed: north, yard"),
            (new(ReportKind.Lot) { From = ReportStore.Start, Until = ReportStore.Start }, "the period: found from"),
            (new(ReportKind.Lot) { Kegs = ["K-never"] }, "the lot: found no keg of those named"),
            (new(ReportKind.Shift) { Day = new DateOnly(2031, 3, 9) }, "the shift: found 2031-03-09, and no shift on that day"),
            (new(ReportKind.Shift) { Begins = new TimeOnly(7, 0) }, "shifts beginning at 06:00"),
            (new(ReportKind.Deviation), "found neither a keg nor a setpoint"),
            (new(ReportKind.Deviation) { Keg = "a", Setpoint = "b" }, "found both"),
            (new(ReportKind.Deviation) { Setpoint = "rinse.hold" }, "allowed: sanitise.hold"),
            (new(ReportKind.Deviation) { Keg = Judged.First(k => k.Verdict.Verdict == Verdict.Met).Verdict.KegId }, "whose verdict"),
        ];
        foreach (var (wish, problem) in wrong)
        {
            var message = Assert.Throws<ReportWishException>(() => Make(wish)).Message;
            Assert.Contains(problem, message);
            Assert.Contains("allowed: ", message);
        }
    }

    [Fact]
    public void A_certificate_says_who_decided_when_and_why_and_what_was_found_in_the_keg()
    {
        var document = Make(new(ReportKind.Certificate) { Keg = Missed.Verdict.KegId, Cycle = Missed.CycleId });
        var decision = Assert.IsType<TextCell>(document.Facts.Single(f => f.Label == "Decision").Value);
        Assert.Equal("to be washed again by T. Ester <b> (QA) on 2031-03-05 08:14:00 +00:00: dwell missed", decision.Text);
        var trace = Assert.IsType<EventTrace>(document.Traces[decision.Traces.Single() - 1]);
        Assert.Equal(Missed.Verdict.KegId, Assert.IsType<KegDecided>(Assert.Single(store.Historian.ReadLog(trace.FirstSequence!.Value - 1, 1)).Event).KegId);
        Assert.Equal("no. 13", ((TextCell)Tables(document).Single(t => t.Id == "people").Rows.Single()[0]).Text);
        Assert.Equal(store.Historian.RecordHead!.ToString(), document.Basis.Records);

        var looked = store.Historian.ReadEvents(new EventQuery { Kinds = ["keg-inspected"] }).OfType<KegInspected>().Last();
        var row = Tables(Make(new(ReportKind.Certificate) { Keg = looked.KegId, Cycle = looked.CycleId })).Single(t => t.Id == "people").Rows.Single();
        Assert.Contains("passed", ((TextCell)row[2]).Text);
        Assert.Contains("did not pass", ((TextCell)row[5]).Text);
    }

    [Fact]
    public void A_lot_tells_what_was_drawn_and_found_as_corrected_and_what_that_bounds()
    {
        var document = Make(new(ReportKind.Lot) { Washer = "north" });
        Assert.Equal("morning", ((TextCell)Tables(document).Single(t => t.Id == "draws").Rows.Single()[0]).Text);
        Assert.Equal(["passed", "DID NOT PASS"], Tables(document).Single(t => t.Id == "inspections").Rows.Select(r => ((TextCell)r[3]).Text).OrderDescending());
        var kegs = Judged.Where(k => k.Verdict.Washer == "north").GroupBy(k => k.Verdict.KegId).Count(g => g.Last().Verdict.Verdict != Verdict.NotMet);
        Assert.Contains(document.Sections.SelectMany(s => s.Blocks).OfType<Paragraph>(), p => p.Text == Core.Sampling.Proof.Of(Core.Sampling.FailureBound.OfLot(kegs, 2, 1, 0.95)));
        Assert.DoesNotContain(document.Sections.SelectMany(s => s.Blocks).OfType<Paragraph>(), p => p.Text.StartsWith("Not all kegs looked into", StringComparison.Ordinal));
        var decided = Tables(document).Single(t => t.Id == "decided").Rows.Select(r => r.Skip(1).Select(c => ((NumberCell)c).Value).ToArray()).ToList();
        Assert.Equal([0, 0, 1], decided[0][..3]);
        Assert.Equal([1, 0, 0], decided[2][..3]);
    }

    [Fact]
    public void A_shift_has_titrations_as_corrected_baths_made_up_anew_and_what_people_did()
    {
        var tables = Tables(Make(new(ReportKind.Shift))).ToDictionary(t => t.Id);
        var titration = tables["titrations"].Rows.Single();
        Assert.Equal((2.1, "%"), titration[3] is NumberCell strength ? (strength.Value, strength.Unit) : default);
        Assert.Equal("told first: caustic titrated: 21 % (by acid)", ((TextCell)titration[6]).Text);
        Assert.Equal("bath/acid", ((TextCell)tables["bath-changes"].Rows.Single()[0]).Text);
        Assert.Equal(9, tables["records"].Rows.Count);
        Assert.Equal("no. 13", ((TextCell)tables["records"].Rows[0][0]).Text);
    }

    [Fact]
    public void Without_the_sites_file_sources_are_still_named()
    {
        var document = ReportDesk.Make(new(ReportKind.Certificate) { Keg = Missed.Verdict.KegId }, store.Historian, null);
        Assert.Equal("", document.Basis.Site);
        var hot = Tables(document).Single(t => t.Id == "requirements").Rows.Single(r => ((TextCell)r[0]).Text == "hot-caustic");
        Assert.Contains("north/temperature.caustic", document.Traces.OfType<SampleTrace>().Where(t => hot[2].Traces.Contains(t.Number)).SelectMany(t => t.Signals));
        Assert.Contains("no shifts", Assert.Throws<ReportWishException>(() => ReportDesk.Make(new(ReportKind.Shift), store.Historian, null)).Message.Replace("no site file", "no shifts"));
    }

    [Fact]
    public void The_log_of_frames_and_events_has_the_same_entries_as_the_readings_without_places()
    {
        var (from, until) = (ReportStore.Start + TimeSpan.FromMinutes(2), ReportStore.Start + TimeSpan.FromMinutes(9));
        var frames = store.Historian.ReadFrameLog("north", from, until);
        Assert.Equal(store.Historian.ReadFrames("north", from, until).Select(f => (f.Group, f.Read)), frames.Select(e => (e.Frame!.Group, e.Frame.Read)));
        Assert.True(frames.Count > 1000, "of both sealed and recent data");
        Assert.All(frames.Where((_, i) => i % 97 == 0), e => Assert.Equal(e.Frame!.Read, Assert.Single(store.Historian.ReadLog(e.Sequence - 1, 1)).Frame!.Read));
        var query = new EventQuery { Washer = "yard", Kinds = ["keg-judged", "cycle-ended"], From = from, Until = until };
        var events = store.Historian.ReadEventLog(query);
        Assert.Equal(store.Historian.ReadEvents(query).Select(e => e.Id), events.Select(e => e.Event!.Id));
        Assert.All(events, e => Assert.Equal(e.Event!.Id, Assert.Single(store.Historian.ReadLog(e.Sequence - 1, 1)).Event!.Id));
    }

    private IEnumerable<ReportWish> Wishes()
    {
        yield return new(ReportKind.Certificate) { Keg = Missed.Verdict.KegId };
        yield return new(ReportKind.Certificate) { Keg = Judged.First(k => k.Verdict is { Washer: "yard", Verdict: Verdict.NotProven }).Verdict.KegId };
        foreach (var id in ReportStore.HostileIds.Where(i => Judged.Any(k => k.Verdict.KegId == i)))
        {
            yield return new(ReportKind.Certificate) { Keg = id };
        }

        yield return new(ReportKind.Lot);
        yield return new(ReportKind.Lot) { Washer = "yard" };
        yield return new(ReportKind.Shift);
        yield return new(ReportKind.Month);
        yield return new(ReportKind.Deviation) { Keg = Missed.Verdict.KegId };
        yield return new(ReportKind.Deviation) { Setpoint = "sanitise.hold" };
        yield return new(ReportKind.Outlook);
    }

    private IEnumerable<Document> All() => Wishes().Select(Make);

    private Document Make(ReportWish wish) => ReportDesk.Make(wish, store.Historian, store.Site, TestContext.Current.CancellationToken);

    private static IEnumerable<Table> Tables(Document document) => document.WholeSections.SelectMany(s => s.Blocks).OfType<Table>();

    private static async Task<byte[]> WriteAsync(Document document, ReportFormat format)
    {
        using var stream = new MemoryStream();
        await ReportDesk.WriteAsync(document, format, stream, TestContext.Current.CancellationToken);
        return stream.ToArray();
    }

    private static IEnumerable<string[]> Rows(CsvHelper.CsvReader reader)
    {
        while (reader.Read())
        {
            yield return [.. Enumerable.Range(0, 14).Select(i => reader.GetString(i))];
        }
    }

    [GeneratedRegex("^-?[0-9.]+(E[-+][0-9]+)?$")]
    private static partial Regex Number();
}
