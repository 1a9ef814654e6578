using System.Text.Json;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Polling;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>
/// Four washers of one kind, recorded as a bridge polls them and taken through the whole pipeline: the pump of one is worn, a drain valve of another is half closed, both from the beginning, so
/// that no reference period tells of them.
/// </summary>
public sealed class PeersTests : IClassFixture<PeersTests.Site>
{
    private static readonly string[] Washers = ["east", "north", "south", "west"];

    private readonly Site _site;

    public PeersTests(Site site) => _site = site;

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(5)).Token;

    [Fact]
    public async Task Analyse_tells_the_washer_and_the_station_that_were_never_right()
    {
        var peers = await Peers();
        var families = peers.GetProperty("families").EnumerateArray().ToDictionary(f => f.GetProperty("family").GetString()!);
        var pressure = Assert.Single(StandOut(families["spray-pressure"]), s => s.GetProperty("feature").GetString() == "spray-pressure/caustic");
        Assert.Equal(("south", 0, 4, "bar(a)"), (Washer(pressure), Station(pressure), pressure.GetProperty("peers").GetInt32(), pressure.GetProperty("unit").GetString()));
        var (difference, uncertainty) = (pressure.GetProperty("difference").GetDouble(), pressure.GetProperty("uncertainty").GetDouble());

        // What is left of the pump's pressure above that of the air goes with the square of its speed: 0.72 of some 2 bar.
        Assert.InRange(difference, -0.9, -0.3);
        Assert.InRange(uncertainty, 0, 0.05);

        // Of two stations each is as unlike as the other; the slower one is that of the valve.
        var drains = StandOut(families["drain-time"]);
        Assert.All(drains, s => Assert.Equal("west", Washer(s)));
        Assert.Equal([2], drains.Where(s => Station(s) > 0 && s.GetProperty("difference").GetDouble() > 0).Select(Station).Distinct());
        Assert.All(families.Values.SelectMany(StandOut), s => Assert.Contains(Washer(s), new[] { "south", "west" }));
    }

    [Fact]
    public async Task The_table_says_it_in_words()
    {
        var (exit, table, errors) = await ProgramProcess.RunAsync(Deadline, "analyse", _site.Store);
        Assert.Equal((0, ""), (exit, errors));
        Assert.Contains("Beside their peers", table);
        Assert.Contains("stands out", table);
        Assert.Contains("west station 2", table);
        Assert.Matches(@"\d+ comparisons with peers; chance alone would let [0-9.]+ of them stand out\.", table.ReplaceLineEndings(" "));
    }

    /// <summary>One washer alone is still compared with all, and nobody else is told of.</summary>
    [Fact]
    public async Task One_washer_asked_for_is_compared_with_all()
    {
        var all = await Peers("--washer", "south");
        var standings = all.GetProperty("families").EnumerateArray().SelectMany(f => f.GetProperty("standings").EnumerateArray()).ToList();
        Assert.All(standings, s => Assert.Equal("south", Washer(s)));
        Assert.Contains(standings, s => s.GetProperty("state").GetString() == "StandsOut" && s.GetProperty("feature").GetString() == "spray-pressure/caustic");
    }

    private static List<JsonElement> StandOut(JsonElement family) => [.. family.GetProperty("standings").EnumerateArray().Where(s => s.GetProperty("state").GetString() == "StandsOut")];

    private static string Washer(JsonElement standing) => standing.GetProperty("washer").GetString()!;

    private static int Station(JsonElement standing) => standing.GetProperty("station").GetInt32();

    private async Task<JsonElement> Peers(params string[] more)
    {
        var (exit, text, errors) = await ProgramProcess.RunAsync(Deadline, ["analyse", _site.Store, "--format", "json", .. more]);
        Assert.Equal((0, ""), (exit, errors));
        return JsonDocument.Parse(text).RootElement.GetProperty("peers");
    }

    public sealed class Site : IAsyncLifetime
    {
        private static readonly TimeSpan Length = TimeSpan.FromMinutes(90);

        private readonly TemporaryFolder _folder = new();

        public string Store => _folder["site.washdb"];

        public async ValueTask InitializeAsync()
        {
            var recording = _folder["recording.washdb"];
            using (var historian = HistorianFile.Open(recording, new HistorianOptions(), TimeProvider.System))
            {
                var frames = Washers.SelectMany((w, i) => Record(w, 100 + i)).OrderBy(f => f.Read.Latest);
                foreach (var batch in frames.Chunk(5000))
                {
                    historian.AppendFrames(batch);
                }
            }

            var (exit, _, errors) = await ProgramProcess.RunAsync(Deadline, "replay", recording, Store, Configuration());
            Assert.Equal((0, ""), (exit, errors));
        }

        public ValueTask DisposeAsync()
        {
            _folder.Dispose();
            return ValueTask.CompletedTask;
        }

        private static IEnumerable<Frame> Record(string washer, int seed)
        {
            var simulated = new SimulatedWasher(DemoScenario.Washers[0].Options with
            {
                Id = washer,
                Seed = seed,
                Faults = washer switch
                {
                    "south" => [new PumpWear { When = When.InCycle(1), Initial = 0.15 }],
                    "west" => [new DrainClogging { When = When.InCycle(1), Station = 2, Initial = 0.5 }],
                    _ => [],
                },
            });
            var every = TimeSpan.FromMilliseconds(250);
            var groups = new VirtualPollGroup[] { new(0, every, TimeSpan.FromSeconds(10)), new(1, 2 * every, TimeSpan.FromSeconds(30)), new(2, 4 * every, TimeSpan.FromMinutes(1)) };
            return new VirtualPoller(simulated, new PollerOptions { Seed = seed, Groups = groups, Start = Instant.Parse("2031-03-05T08:00:00Z") }).PollUntil(Length);
        }

        /// <summary>The demonstration's north washer four times.</summary>
        private string Configuration()
        {
            var shipped = Path.Combine(AppContext.BaseDirectory, "config", "demo");
            foreach (var file in Directory.GetFiles(shipped, "*.yaml", SearchOption.AllDirectories))
            {
                var target = Path.Combine(_folder["site"], Path.GetRelativePath(shipped, file));
                Directory.CreateDirectory(Path.GetDirectoryName(target)!);
                File.Copy(file, target);
            }

            var north = File.ReadAllText(Path.Combine(shipped, "washers", "north.yaml"));
            foreach (var washer in Washers)
            {
                File.WriteAllText(Path.Combine(_folder["site"], "washers", $"{washer}.yaml"), north.Replace("washer: north", $"washer: {washer}", StringComparison.Ordinal));
            }

            var site = Path.Combine(_folder["site"], "site.yaml");
            File.WriteAllText(site, File.ReadAllText(site).Replace("  - washers/yard.yaml", string.Join('\n', Washers.Where(w => w != "north").Select(w => $"  - washers/{w}.yaml")), StringComparison.Ordinal));
            return site;
        }
    }
}
