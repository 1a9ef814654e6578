using System.Diagnostics;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Web;
using WashBridge.Web.Pages.Kegs;

namespace WashBridge.Benchmarks;

/// <summary>How long the data of the release list take: a year of 300 washings a day, of 5,000 kegs that come again and again, each released by somebody.</summary>
internal sealed class PageKegsBench : IBench
{
    private const int Kegs = 5000;
    private const int ADay = 300;

    private static readonly Instant Start = Instant.Parse("2030-03-05T00:00:00Z");

    public string Name => "page-kegs";

    public string What => "time to the data of the release list, a year of 300 washings a day behind it [days]";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var days = arguments.Length > 0 ? int.Parse(arguments[0]) : 365;
        var folder = Directory.CreateTempSubdirectory("page-kegs");
        try
        {
            var path = Path.Combine(folder.FullName, "a.washdb");
            using var historian = Historian.Historian.Open(path, new HistorianOptions(), TimeProvider.System);
            var watch = Stopwatch.StartNew();
            Fill(historian, days, cancellation);
            Console.WriteLine($"{days * ADay:N0} washings of {Kegs:N0} kegs, {new FileInfo(path).Length / 1e6:0} MB, written in {watch.Elapsed.TotalSeconds:0} s");
            var end = Start + TimeSpan.FromDays(days);
            using var reader = Historian.Historian.OpenReader(path);
            Measure("a day, 100 kegs", 300, () => KegList.Read(reader, Filter(end, 1)).Lines.Count);
            Measure("1,000 kegs on one page", 500, () => KegList.Read(reader, Filter(end, 4) with { All = true }).Lines.Count);
            Measure("30 days, 100 kegs", 700, () => KegList.Read(reader, Filter(end, 30)).Lines.Count);
            Measure("what can be released", 500, () => KegList.ReadPlain(reader, Filter(end, 1)).Count);
            Measure("one keg's file", 100, () => KegFile.Of("K-00042", reader.ReadKeg("K-00042")).Entries.Count);
            Measure("ids near to one unknown", 300, () => NearIds.Of("K-0042", reader.ReadKegIds()).Count);
        }
        finally
        {
            folder.Delete(recursive: true);
        }

        return Task.CompletedTask;
    }

    private static KegFilter Filter(Instant end, int days) => new(new Period(end - TimeSpan.FromDays(days), end, null), null, null, null, null, null);

    private static void Measure(string what, double bar, Func<int> read)
    {
        var times = new List<double>();
        var found = 0;
        for (var i = 0; i < 5; i++)
        {
            var watch = Stopwatch.StartNew();
            found = read();
            times.Add(watch.Elapsed.TotalMilliseconds);
        }

        var first = times[0];
        times.Sort();
        Console.WriteLine($"{what,-26} {found,5} found, first {first,6:0} ms, then median {times[2],6:0} ms (bar {bar:0} ms): {(times[2] <= bar ? "kept" : "MISSED")}");
    }

    internal static void Fill(Historian.Historian historian, int days, CancellationToken cancellation)
    {
        var random = new Random(20310305);
        for (var day = 0; day < days; day++)
        {
            cancellation.ThrowIfCancellationRequested();
            var events = new List<WashEvent>();
            for (var i = 0; i < ADay; i++)
            {
                var at = Start + TimeSpan.FromDays(day) + TimeSpan.FromMinutes(i * 4);
                var judged = Judged($"K-{random.Next(Kegs):D5}", at, random.Next(20) == 0 ? Verdict.NotProven : Verdict.Met);
                events.Add(judged);
                if (judged.Verdict.Verdict == Verdict.Met && day < days - 1)
                {
                    events.Add(Released(judged, at + TimeSpan.FromHours(2)));
                }
            }

            historian.AppendEvents(events);
        }
    }

    private static KegJudged Judged(string keg, Instant at, Verdict verdict) => new()
    {
        Id = $"w1-{at}/verdict",
        Washer = "w1",
        At = TimeBounds.At(at),
        CycleId = $"w1-{at}",
        Verdict = new KegVerdict
        {
            KegId = keg,
            KegIdSource = KegIdSource.Scan,
            CycleId = $"w1-{at}",
            Washer = "w1",
            Station = 1,
            Recipe = "full-wash",
            RecipeVersion = 1,
            Rule = DecisionRule.Bounds,
            Verdict = verdict,
            Results = [.. Enumerable.Range(0, 7).Select(r => new RequirementResult
            {
                Requirement = $"requirement-{r}", Verdict = verdict, Lower = 30.25, Upper = 30.75, Estimate = 30.5, StandardUncertainty = 0.1, Limit = 34, Unit = "s",
                Evidence = "From the start of wall spray in sanitise (pass 1) to the start of drain in sanitise (pass 1) it was 42.845 to 43.188 s; at least 41 s is asked.",
            })],
        },
    };

    private static KegDecided Released(KegJudged judged, Instant at) => new()
    {
        Id = $"w1/decision/{judged.Verdict.KegId}/release/{at}",
        Washer = "w1",
        At = TimeBounds.At(at),
        CycleId = judged.CycleId,
        Act = new Act { By = "K. Wash", Means = Means.Page, Entered = at },
        KegId = judged.Verdict.KegId,
        Station = 1,
        Decision = KegDecision.Release,
        VerdictId = judged.Id,
        Verdict = judged.Verdict.Verdict,
    };
}
