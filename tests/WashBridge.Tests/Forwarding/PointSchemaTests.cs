using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

public sealed class PointSchemaTests
{
    private static readonly Instant Noon = Instant.Parse("2031-03-05T12:00:00Z");

    [Fact]
    public void The_page_lists_what_is_sent_and_nothing_else()
    {
        var events = new WashDay(1).Events(500).Append(Judged());
        var sent = new SortedDictionary<string, (SortedSet<string> Tags, SortedSet<string> Fields)>(StringComparer.Ordinal);
        foreach (var line in events.SelectMany(Render).Concat(RenderHealth()))
        {
            var (measurement, tags, fields) = Names(line);
            if (!sent.TryGetValue(measurement, out var names))
            {
                sent.Add(measurement, names = ([], []));
            }

            names.Tags.UnionWith(measurement == "wash_read" ? tags.Except(["site"]) : tags.Except(["site", "washer"]));
            names.Fields.UnionWith(fields.Except(["id", "width_us", "cycle"]));
        }

        var page = File.ReadAllLines(Path.Combine(Repository.Root, "src/WashBridge/Forwarding/SCHEMA.md")).Where(l => l.StartsWith("| `wash_", StringComparison.Ordinal)).Select(l => l.Split('|')).ToList();
        Assert.Equal(page.Select(c => Words(c[1]).Single()).Order(StringComparer.Ordinal), sent.Keys);
        foreach (var cells in page)
        {
            var (tags, fields) = sent[Words(cells[1]).Single()];
            Assert.Equal(Words(cells[3]).Order(StringComparer.Ordinal), tags);
            Assert.Equal(Words(cells[4]).Order(StringComparer.Ordinal), fields);
        }
    }

    [Fact]
    public void A_measured_cycle_is_a_point_and_one_for_each_figure()
    {
        var lines = Render(WashFindings.Of("c1", "w1", () => new TimeBounds(Noon, Noon + TimeSpan.FromMicroseconds(1500))).OfType<CycleMeasured>().Single());
        Assert.Equal(3, lines.Count);
        Assert.StartsWith("wash_measured,outcome=completed,programme=1,recipe=standard,recipe_version=3,site=north,washer=w1 cycle=\"c1\",figures=2i,id=\"c1/measured\",kegs=1i,width_us=1500i ", lines[0], StringComparison.Ordinal);
        Assert.StartsWith("wash_figure,family=drain-time,figure=drain-time/rinse/1,site=north,station=2,unit=s,washer=w1 cycle=\"c1\",id=\"c1/measured\",uncertainty=0.05,value=8.4,width_us=1500i ", lines[1], StringComparison.Ordinal);
        Assert.StartsWith("wash_figure,family=kegs,figure=kegs,site=north,washer=w1 cycle=\"c1\",id=\"c1/measured\",uncertainty=0,value=2,width_us=1500i ", lines[2], StringComparison.Ordinal);
    }

    [Fact]
    public void Log_entries_are_listed_with_their_levels()
    {
        var page = File.ReadAllLines(Path.Combine(Repository.Root, "src/WashBridge/Forwarding/SCHEMA.md")).Where(l => l.StartsWith("| 31", StringComparison.Ordinal)).Select(l => l.Split('|'));
        var code = typeof(ForwardingLog).GetMethods().SelectMany(m => m.GetCustomAttributes(false)).OfType<Microsoft.Extensions.Logging.LoggerMessageAttribute>();
        Assert.Equal(code.Select(a => $"{a.EventId} {a.Level.ToString().ToLowerInvariant()}").Order(), page.Select(c => $"{c[1].Trim()} {c[2].Trim()}").Order());
    }

    [Fact]
    public void A_judgement_is_a_point_and_one_for_each_requirement()
    {
        var lines = Render(Judged());
        Assert.Equal(3, lines.Count);
        const string Common = "recipe=standard,recipe_version=3";
        Assert.StartsWith(
            $"wash_keg,keg_id_source=scan,{Common},rule=guard-band,site=north,station=2,verdict=not-proven,washer=w1 "
            + "cycle=\"c1\",id=\"c1/2/verdict\",keg=\"K \\\"7\\\"\",met=0i,not_met=0i,not_proven=1i,requirements=2i,requirements_met=1i,width_us=1500i 1930478400001500",
            lines[0],
            StringComparison.Ordinal);
        Assert.StartsWith(
            $"wash_requirement,{Common},requirement=dwell,site=north,station=2,unit=s,verdict=not-proven,washer=w1 "
            + "cycle=\"c1\",estimate=45.1,evidence=\"held 44.5 s or more\",id=\"c1/2/verdict\",keg=\"K \\\"7\\\"\",limit=45,lower=44.5,met=0i,not_met=0i,not_proven=1i,uncertainty=0.4,width_us=1500i 1930478400001500",
            lines[1],
            StringComparison.Ordinal);
        Assert.Contains(",requirement=order,site=north,station=2,verdict=met,washer=w1 ", lines[2], StringComparison.Ordinal);
    }

    [Fact]
    public void An_open_upper_bound_is_no_field()
    {
        var edge = new Edge(new Moment(Noon, Noon, 0), new Moment(Noon, Noon, 0));
        var drain = new DrainMeasured
        {
            Id = "d", Washer = "w1", At = TimeBounds.At(Noon), CycleId = "c1", Station = 3,
            Drain = new DrainRecord("rinse", 2, edge, null, new DurationBounds(TimeSpan.FromSeconds(12.25), TimeSpan.MaxValue), Shared: true),
        };
        Assert.StartsWith(
            "wash_drain,pass=2,phase=rinse,site=north,station=3,washer=w1 cycle=\"c1\",dry=0i,id=\"d\",lower_s=12.25,shared=1i,width_us=0i 1930478400000000",
            Assert.Single(Render(drain)),
            StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(SignalType.Quantity, 61.5, null, Quality.Good, "quality=0i,value=61.5,width_us=1500i")]
    [InlineData(SignalType.Integer, 65535, null, Quality.Good, "quality=0i,whole=65535i,width_us=1500i")]
    [InlineData(SignalType.Flag, 1, null, Quality.Uncertain, "flag=1i,quality=1i,width_us=1500i")]
    [InlineData(SignalType.Flag, 0, null, Quality.Good, "flag=0i,quality=0i,width_us=1500i")]
    [InlineData(SignalType.Text, double.NaN, "K \"7\"", Quality.Good, "quality=0i,text=\"K \\\"7\\\"\",width_us=1500i")]
    [InlineData(SignalType.Quantity, double.NaN, null, Quality.Bad, "quality=2i,width_us=1500i")]
    [InlineData(SignalType.Text, double.NaN, null, Quality.Bad, "quality=2i,width_us=1500i")]
    public void A_samples_field_tells_its_type(SignalType type, double number, string? text, Quality quality, string fields)
    {
        var batch = new LineBatch();
        new SamplePoints("north").Append(9, Frame(new Signal("w1", 0, "other.x", type == SignalType.Quantity ? "Cel" : "", type), new SignalValue(number, text), quality), batch);
        var unit = type == SignalType.Quantity ? "unit=Cel," : "";
        Assert.Equal($"wash_sample,signal=other.x,site=north,{unit}washer=w1 {fields} 1930478400001500500", batch.Text(0, 1));
        Assert.Equal(0, batch.OmittedFields);
    }

    [Fact]
    public void A_good_sample_without_a_number_is_counted_and_a_station_is_a_tag()
    {
        var batch = new LineBatch();
        new SamplePoints("north").Append(9, Frame(new Signal("w1", 2, "pressure.keg", "bar(a)", SignalType.Quantity), SignalValue.None, Quality.Good), batch);
        Assert.Equal("wash_sample,signal=pressure.keg,site=north,station=2,unit=bar(a),washer=w1 quality=0i,width_us=1500i 1930478400001500500", batch.Text(0, 1));
        Assert.Equal(1, batch.OmittedFields);
    }

    [Fact]
    public void A_signal_that_cannot_be_expressed_is_set_aside_and_the_others_of_its_frame_are_not()
    {
        var good = Frame(new Signal("w1", 0, "other.x", "Cel", SignalType.Quantity), new SignalValue(1), Quality.Good);
        var bad = Frame(new Signal("w1", 0, "other.y\\", "Cel", SignalType.Quantity), new SignalValue(2), Quality.Good);
        var batch = new LineBatch();
        new SamplePoints("north").Append(9, good with { Samples = [.. bad.Samples, .. good.Samples] }, batch);
        Assert.Equal(1, batch.Count);
        Assert.Contains("backslash", Assert.Single(batch.Inexpressible).Reason, StringComparison.Ordinal);
    }

    private static IReadOnlyList<string> Render(WashEvent washEvent)
    {
        var batch = new LineBatch();
        new EventPoints("north").Append(1, washEvent, batch);
        Assert.Empty(batch.Inexpressible);
        return [.. Enumerable.Range(0, batch.Count).Select(i => batch.Text(i, 1))];
    }

    private static IReadOnlyList<string> RenderHealth()
    {
        var batch = new LineBatch();
        new HealthPoints("north").Append(HealthWriterTests.Health(reads: 7), null, batch);
        return [.. Enumerable.Range(0, batch.Count).Select(i => batch.Text(i, 1))];
    }

    /// <summary>Good enough for lines whose text fields hold neither comma, space nor equals sign outside of the known ones.</summary>
    private static (string Measurement, IEnumerable<string> Tags, IEnumerable<string> Fields) Names(string line)
    {
        var unquoted = System.Text.RegularExpressions.Regex.Replace(line, "\"(\\\\.|[^\"\\\\])*\"", "x");
        var parts = unquoted.Split(' ');
        Assert.Equal(3, parts.Length);
        var head = parts[0].Split(',');
        return (head[0], head[1..].Select(t => t.Split('=')[0]), parts[1].Split(',').Select(f => f.Split('=')[0]));
    }

    private static IEnumerable<string> Words(string cell) => cell.Split('`').Where((_, i) => i % 2 == 1);

    private static Frame Frame(Signal signal, SignalValue value, Quality quality)
    {
        var at = new TimeBounds(Noon, Noon + TimeSpan.FromMicroseconds(1500));
        return new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Full, Read = at, Samples = [new Sample(signal, value, quality, at)] };
    }

    private static KegJudged Judged() => new()
    {
        Id = "c1/2/verdict", Washer = "w1", CycleId = "c1", At = new TimeBounds(Noon, Noon + TimeSpan.FromMicroseconds(1500)),
        Verdict = new KegVerdict
        {
            KegId = "K \"7\"", KegIdSource = KegIdSource.Scan, CycleId = "c1", Washer = "w1", Station = 2, Recipe = "standard", RecipeVersion = 3,
            Rule = new DecisionRule(DecisionMethod.GuardBand, 0.05), Verdict = Verdict.NotProven,
            Results =
            [
                new RequirementResult { Requirement = "dwell", Verdict = Verdict.NotProven, Lower = 44.5, Estimate = 45.1, StandardUncertainty = 0.4, Limit = 45, Unit = "s", Evidence = "held 44.5 s or more" },
                new RequirementResult { Requirement = "order", Verdict = Verdict.Met, Evidence = "all phases in order" },
            ],
        },
    };
}
