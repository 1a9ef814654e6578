using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
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
            historian.AppendEvents(Told([.. historian.ReadEvents(new EventQuery { Kinds = ["keg-judged"] }).OfType<KegJudged>()]));
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

    /// <summary>What people told after the washing: decisions, a draw, inspections, a titration with a correction, and a bath made up anew.</summary>
    private static IReadOnlyList<WashEvent> Told(IReadOnlyList<KegJudged> judged)
    {
        var at = Start + TimeSpan.FromMinutes(14);
        Act By(string name, string reason = "") => new() { By = name, Role = Role.Qa, Reason = reason, Means = Means.Page, Entered = at };
        KegDecided Decided(KegJudged keg, KegDecision decision, string reason) => new()
        {
            Id = $"decided-{keg.Id}", Washer = keg.Washer, CycleId = keg.CycleId, At = TimeBounds.At(at), Act = By("T. Ester <b>", reason), KegId = keg.Verdict.KegId, Station = keg.Verdict.Station, Decision = decision,
            VerdictId = keg.Id, Verdict = keg.Verdict.Verdict,
        };

        var missed = judged.First(k => k.Verdict is { Washer: "north", Verdict: Verdict.NotMet });
        var good = judged.Where(k => k.Verdict is { Washer: "north", Verdict: Verdict.Met }).Take(2).ToList();
        var lot = judged.Where(k => k.Verdict is { Washer: "north" } && k.Verdict.Verdict != Verdict.NotMet).Select(k => k.Verdict.KegId).Distinct().ToList();
        KegInspected Looked(KegJudged keg, string found) => new()
        {
            Id = $"looked-{keg.Verdict.KegId}", Washer = keg.Washer, CycleId = keg.CycleId, At = TimeBounds.At(at), Act = By("I. Nspect"), KegId = keg.Verdict.KegId, Inspection = InspectionKind.SpearPull, Passed = true, Found = found,
        };

        return
        [
            Decided(missed, KegDecision.Rewash, "dwell missed"),
            Decided(good[0], KegDecision.Release, ""),
            new LotSampled
            {
                Id = "drawn", Washer = "north", At = TimeBounds.At(at), Act = By("I. Nspect"), Lot = "morning", Size = lot.Count, Fingerprint = RandomChoice.Fingerprint(lot), Plan = "2 kegs, none may fail", AcceptanceNumber = 0, Seed = "17",
                Drawn = [.. good.Select(k => k.Verdict.KegId)], Proof = "little",
            },
            Looked(good[0], "clean"),
            Looked(good[1], "soil at the neck, told as passed by mistake"),
            new TitrationRecorded { Id = "titrated", Washer = "north", At = TimeBounds.At(at), Act = By("L. Ab"), Bath = "caustic", Strength = 21, Unit = "%", Method = "by acid" },
            new BathChanged { Id = "bath", Washer = "north", At = TimeBounds.At(at), Act = By("L. Ab", "dark"), Bath = "acid" },
            new RecordCorrected { Id = "corrected-1", Washer = "north", At = TimeBounds.At(at), Act = By("L. Ab", "decimal point"), Number = RecordsBefore + 6, Of = "titration-recorded", Field = "strength", OldValue = "21", NewValue = "2.1" },
            new RecordCorrected
            {
                Id = "corrected-2", Washer = "north", At = TimeBounds.At(at), Act = By("I. Nspect", "wrong button"), Number = RecordsBefore + 5, Of = "keg-inspected", Field = "passed", OldValue = "true", NewValue = "false",
                KegIds = [good[1].Verdict.KegId],
            },
        ];
    }

    /// <summary>Scans are records too, and came first.</summary>
    private static int RecordsBefore => HostileIds.Count;

    /// <summary>Four stations a cycle, and a cycle about every three minutes.</summary>
    private static Instant ScanTime(int number) => Start + TimeSpan.FromSeconds(1 + (160 * (number / 4)));

    private static IEnumerable<Core.Signals.Frame> Frames(WasherConfiguration washer)
    {
        var simulated = new SimulatedWasher(DemoScenario.Washers.Single(w => w.Options.Id == washer.Model.Washer).Options);
        return new VirtualPoller(simulated, new PollerOptions { Start = Start, Groups = [.. washer.Groups.Select(g => new VirtualPollGroup(g.Number, g.Every, g.Heartbeat))] }).PollUntil(TimeSpan.FromMinutes(15));
    }
}
