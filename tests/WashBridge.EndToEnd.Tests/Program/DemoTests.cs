using System.Text.Json;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>One run of the demo, looked at from all sides: what it shows, what it leaves, and whether that is the truth.</summary>
public sealed class DemoTests : IClassFixture<DemoTests.Run>
{
    private static readonly TimeSpan TwoClocks = TimeSpan.FromMilliseconds(50);

    private readonly Run _run;

    public DemoTests(Run run) => _run = run;

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    [Fact]
    public void It_ends_cleanly_and_has_shown_good_short_and_unprovable_kegs_and_a_drain_that_gets_slower()
    {
        Assert.Equal(0, _run.Exit);
        Assert.Empty(_run.Errors);
        Assert.Contains(": met, all ", _run.Output);
        Assert.Contains("NOT MET", _run.Output);
        Assert.Contains("sanitiser-hold: ", _run.Output);
        Assert.Contains("not proven", _run.Output);
        Assert.Contains("connection lost", _run.Output);
        Assert.Contains("longer than in the first cycle by", _run.Output);
    }

    [Fact]
    public async Task The_report_lists_every_keg_that_the_live_view_showed()
    {
        var (exit, output, errors) = await ProgramProcess.RunAsync(Deadline, "report", _run.Store, "--format", "json");

        Assert.Equal((0, ""), (exit, errors));
        var kegs = JsonDocument.Parse(output).RootElement.GetProperty("kegs").EnumerateArray().ToList();
        var told = kegs.Where(k => k.GetProperty("kegIdSource").GetString() == "Tag").Select(k => k.GetProperty("kegId").GetString()!).ToList();
        Assert.NotEmpty(told);
        Assert.All(told, keg => Assert.Contains($"keg {keg} at station ", _run.Output));
        Assert.Contains($" {kegs.Count} kegs: ", _run.Output);
    }

    [Fact]
    public async Task A_replay_of_the_recording_gives_the_same_events_to_the_byte()
    {
        using var folder = new TemporaryFolder();
        var again = folder["again.washdb"];
        var (exit, output, errors) = await ProgramProcess.RunAsync(Deadline, "replay", _run.Store, again, Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml"));

        Assert.Equal((0, ""), (exit, errors));
        Assert.Contains(" 0 otherwise, 0 not in the recording; 0 of the recording not found again.", output);
        Assert.Equal(Events(_run.Store), Events(again));
    }

    [Fact]
    public void Every_true_time_lies_within_the_bounds_that_were_reported()
    {
        using var historian = HistorianFile.OpenReader(_run.Store);
        var cycles = historian.ReadEvents(new EventQuery { Kinds = ["cycle-ended"] }).OfType<CycleEnded>().Select(e => e.Cycle).Where(c => !c.StartUnseen).ToList();
        var truths = File.ReadLines(_run.Store + ".truth.jsonl").Select(line => JsonDocument.Parse(line).RootElement).ToList();
        var compared = 0;
        // Where a gap hid whole passes their numbers differ; what gaps do to bounds is tested in virtual time.
        foreach (var cycle in cycles.Where(c => c.Outcome == CycleOutcome.Completed && c.Gaps.Count == 0))
        {
            var truth = Assert.Single(truths, t => t.GetProperty("washer").GetString() == cycle.Washer && Contains(cycle.Start.Wall, At(t.GetProperty("start"))));
            Assert.True(Contains(cycle.End.Wall, At(truth.GetProperty("end"))), $"end of {cycle.Id}");
            foreach (var step in TrueSteps(truth))
            {
                var seen = Assert.Single(from phase in cycle.Phases where phase.Id == step.Phase from pass in phase.Passes where pass.Number == step.Pass from s in pass.Steps where s.Kind.ToString() == step.Kind select s);
                Assert.True(seen.Start.Until(seen.End).Contains(step.Took), $"{cycle.Id} {step}: {seen.Start.Until(seen.End)}");
                compared++;
            }
        }

        Assert.True(compared > 20, $"only {compared} steps were compared");
    }

    private static IEnumerable<(string Phase, int Pass, string Kind, TimeSpan Took)> TrueSteps(JsonElement cycle) =>
        from phase in cycle.GetProperty("phases").EnumerateArray()
        from pass in phase.GetProperty("passes").EnumerateArray()
        from step in pass.GetProperty("steps").EnumerateArray()
        select (phase.GetProperty("id").GetString()!, pass.GetProperty("number").GetInt32(), step.GetProperty("kind").GetString()!, At(step.GetProperty("end")) - At(step.GetProperty("start")));

    private static Instant At(JsonElement time) => Instant.Parse(time.GetProperty("at").GetString()!);

    /// <summary>Bridge and simulator each tie the monotonic clock to the wall clock for themselves, in hurried time: allow for the difference.</summary>
    private static bool Contains(TimeBounds bounds, Instant instant) => instant >= bounds.Earliest - TwoClocks && instant <= bounds.Latest + TwoClocks;

    private static List<string> Events(string store)
    {
        using var historian = HistorianFile.OpenReader(store);
        return [.. historian.ReadEvents(new EventQuery()).OrderBy(e => e.Id, StringComparer.Ordinal).Select(WashJson.Write)];
    }

    public sealed class Run : IAsyncLifetime
    {
        private readonly TemporaryFolder _folder = new();

        public string Store => _folder["demo.washdb"];

        public int Exit { get; private set; }

        public string Output { get; private set; } = "";

        public string Errors { get; private set; } = "";

        public async ValueTask InitializeAsync() =>
            (Exit, Output, Errors) = await ProgramProcess.RunAsync(Deadline, "demo", "--speed", "15", "--minutes", "11", "--history", "0", "--store", Store);

        public ValueTask DisposeAsync()
        {
            _folder.Dispose();
            return ValueTask.CompletedTask;
        }
    }
}
