using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Polling;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Reporting.Desk;

/// <summary>
/// A quarter of an hour of the demonstration's two washers in virtual time, polled, judged and analysed as everything else: good kegs, one that missed its dwell while a setting was off the recipe, and a
/// connection that dropped. The kegs of the yard bear ids that people should not have invented.
/// </summary>
public sealed class ReportStore : IDisposable
{
    public static readonly Instant Start = Instant.Parse("2031-03-05T08:00:00Z");

    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("washbridge-reports-");

    public ReportStore()
    {
        Site = ConfigurationLoader.Load(Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml")).Site!;
        File = Path.Combine(_folder.FullName, "plant.washdb");
        using (var historian = HistorianFile.Open(File, new HistorianOptions(), TimeProvider.System))
        {
            historian.AppendEvents([.. HostileIds.Select((id, i) => new KegScanned { Id = $"scan-{i}", Washer = "yard", At = TimeBounds.At(ScanTime(i)), Station = 1 + (i % 4), KegId = id })]);
            foreach (var frame in Site.Washers.SelectMany(Frames).OrderBy(f => f.Read.Latest).Chunk(500))
            {
                historian.AppendFrames(frame);
            }

            new Analyst(historian, Site.Washers).CatchUp();
            var analysis = new AnalysisFollower(historian, Site, NullLogger.Instance);
            analysis.CatchUp();
            historian.Seal(Start + TimeSpan.FromMinutes(5));
        }

        Historian = HistorianFile.OpenReader(File);
    }

    /// <summary>Markup, formulas, both directions of writing, signs beyond the basic plane, controls, and one that is very long.</summary>
    public static IReadOnlyList<string> HostileIds { get; } =
    [
        "<script>alert(1)</script>", "=cmd|' /C calc'!A0", "+1+1", "@SUM(A1)", "\u202Egnp.exe", "\u05E9\u05DC\u05D5\u05DD-17", string.Concat(Enumerable.Repeat("\U0001F37A", 64)), new string('W', 3000),
        "a\"b'c&d;e,f", "tab\there\nline", "</title></svg>--><style>*{display:none}</style>", "\uFF1D1+1",
    ];

    internal Site Site { get; }

    internal IHistorianReader Historian { get; }

    internal string File { get; }

    public void Dispose()
    {
        Historian.Dispose();
        _folder.Delete(recursive: true);
    }

    /// <summary>Four stations a cycle, and a cycle about every three minutes.</summary>
    private static Instant ScanTime(int number) => Start + TimeSpan.FromSeconds(1 + (160 * (number / 4)));

    private static IEnumerable<Core.Signals.Frame> Frames(WasherConfiguration washer)
    {
        var simulated = new SimulatedWasher(DemoScenario.Washers.Single(w => w.Options.Id == washer.Model.Washer).Options);
        return new VirtualPoller(simulated, new PollerOptions { Start = Start, Groups = [.. washer.Groups.Select(g => new VirtualPollGroup(g.Number, g.Every, g.Heartbeat))] }).PollUntil(TimeSpan.FromMinutes(15));
    }
}
