using System.Diagnostics;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Benchmarks;

/// <summary>What the chain of records costs: appending, checking, and reading by keg.</summary>
internal sealed class RecordsBench : IBench
{
    private const int Records = 100_000;
    private const int EventsAtOnce = 500;

    /// <summary>Seconds for all of them.</summary>
    private const double Bar = 10;

    public string Name => "records";

    public string What => "chain of 100,000 records: append, verify, read the file of a keg";

    /// <summary>Scans, titrations and decisions of an invented site.</summary>
    public static IEnumerable<WashEvent> Invented(int count)
    {
        var at = Instant.Parse("2031-03-05T06:00:00Z");
        for (var i = 0; i < count; i++)
        {
            at += TimeSpan.FromSeconds(20);
            var act = new Act { By = "T. Ester", Role = Role.Operator, Reason = "as every shift", Means = Means.Page, Entered = at };
            yield return (i % 20) switch
            {
                0 => new TitrationRecorded { Id = $"w1/titration/{i}", Washer = "w1", At = TimeBounds.At(at), Act = act, Bath = "caustic", Strength = 2.1, Unit = "%" },
                < 10 => new KegDecided { Id = $"w1/decision/{i}", Washer = "w1", At = TimeBounds.At(at), CycleId = $"w1/c{i}", Act = act, KegId = $"K-{i % 5000:0000}", Station = 1 + (i % 4), Decision = KegDecision.Release },
                _ => new KegScanned { Id = $"w1/scan/{i}", Washer = "w1", At = TimeBounds.At(at), Station = 1 + (i % 4), KegId = $"K-{i % 5000:0000}", By = "T. Ester", Entered = new Entered(at, Means.Scanner) },
            };
        }
    }

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var folder = Directory.CreateTempSubdirectory("records").FullName;
        try
        {
            var path = Path.Combine(folder, "line.washdb");
            using (var historian = Historian.Historian.Open(path, new HistorianOptions(), TimeProvider.System))
            {
                var append = Stopwatch.StartNew();
                foreach (var page in Invented(Records).Chunk(EventsAtOnce))
                {
                    historian.AppendEvents(page);
                }

                Console.WriteLine($"append in transactions of {EventsAtOnce}: {Records / append.Elapsed.TotalSeconds:N0} records/s");
            }

            using var reader = Historian.Historian.OpenReader(path);
            var verify = Stopwatch.StartNew();
            var check = reader.VerifyRecords(reader.RecordHead, cancellation: cancellation);
            var took = verify.Elapsed.TotalSeconds;
            Console.WriteLine($"verify {check.Count:N0} records, {new FileInfo(path).Length / 1e6:N0} MB: {took:N2} s (bar {Bar:N0} s: {(took <= Bar && check.IsWhole ? "reached" : "missed")})");

            var keg = Stopwatch.StartNew();
            var file = KegFile.Of("K-0042", reader.ReadKeg("K-0042"));
            Console.WriteLine($"file of a keg with {file.Entries.Count} entries: {keg.Elapsed.TotalMilliseconds:N1} ms");
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }

        return Task.CompletedTask;
    }
}
