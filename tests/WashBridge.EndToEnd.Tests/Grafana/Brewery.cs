using Microsoft.Extensions.Logging.Abstractions;
using Spectre.Console;
using WashBridge.Analysing;
using WashBridge.Benchmarks.Influx;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Demo;
using WashBridge.EndToEnd.Tests.Program;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Polling;
using WashBridge.Tests.Forwarding;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Grafana;

/// <summary>
/// The demonstration's two washers with their past and an hour of washing, mishaps included, simulated in virtual time and taken through the program's own pipeline into a historian, and
/// from there by its follower into a real InfluxDB. What people record, and what the bridge tells of itself, is there too.
/// </summary>
[CollectionDefinition(nameof(Brewery))]
public sealed class Brewery : IAsyncLifetime, ICollectionFixture<Brewery>
{
    public const string Database = "plant";
    private static readonly TimeSpan Length = TimeSpan.FromMinutes(60);

    private readonly TemporaryFolder _folder = new();
    private InfluxServer? _server;
    private HistorianFile? _historian;

    internal IHistorian Historian => _historian!;

    internal Site Site { get; private set; } = null!;

    /// <summary>When the washing begins; its past lies before.</summary>
    internal Instant Begin { get; private set; }

    internal Instant End => Begin + Length;

    /// <summary>What the bridge told of itself, in order, a minute apart.</summary>
    internal IReadOnlyList<BridgeHealth> Told { get; private set; } = [];

    internal IReadOnlyList<T> Events<T>()
        where T : WashEvent => [.. Historian.ReadEvents(new EventQuery()).OfType<T>()];

    internal Task<string> AskAsync(string query) => _server!.QueryAsync(query, TestContext.Current.CancellationToken, Database);

    public async ValueTask InitializeAsync()
    {
        var stop = TestContext.Current.CancellationToken;
        var site = ConfigurationLoader.Load(Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml")).Site!;
        Site = site with { Store = site.Store with { Path = _folder["brewery.washdb"] } };
        var console = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(TextWriter.Null) });
        DemoHistory.Make(Site, new FileInfo(Site.Store.Path), DemoPast.StandardLength, Instant.Floor(TimeProvider.System.GetUtcNow()), console, stop);
        Begin = Instant.Floor(TimeProvider.System.GetUtcNow());
        _historian = HistorianFile.Open(Site.Store.Path, new HistorianOptions(), TimeProvider.System);
        Clean();
        Wash();
        Record();
        _server = await InfluxServer.StartAsync(stop);
        await _server.CreateDatabaseAsync(Database, stop);
        await ForwardAsync(stop);
        await TellAsync(stop);
    }

    public async ValueTask DisposeAsync()
    {
        _historian?.Dispose();
        if (_server is not null)
        {
            await _server.DisposeAsync();
        }

        _folder.Dispose();
    }

    /// <summary>The valve that was wearing in the past is clean when the washing begins, and here somebody has told so.</summary>
    private void Clean()
    {
        Historian.AppendEvents([new MaintenanceRecorded { Id = "told/work", Washer = "north", At = TimeBounds.At(Begin), Component = new Component(ComponentKind.DrainValve, Station: 2), Work = MaintenanceKind.Restored, By = "T. Ester", Note = "strainer cleaned" }]);
        Analyse();
    }

    /// <summary>Frames as the site's files have them polled, then cycles, verdicts and findings.</summary>
    private void Wash()
    {
        var frames = DemoScenario.Washers.AsParallel().SelectMany(w => Poll(w, Site.Washers.Single(c => c.Model.Washer == w.Options.Id))).ToList();
        foreach (var batch in frames.OrderBy(f => f.Read.Latest).Chunk(5000))
        {
            Historian.AppendFrames(batch);
        }

        var analyst = new Analyst(Historian, Site.Washers);
        analyst.CatchUp();
        analyst.Save();
        Analyse();
    }

    private void Analyse()
    {
        var analysis = new AnalysisFollower(Historian, Site, NullLogger.Instance);
        analysis.CatchUp();
        analysis.Save();
    }

    private List<Frame> Poll(DemoWasher washer, WasherConfiguration configuration)
    {
        var options = washer.Options.KegIds
            ? washer.Options with { Faults = [.. washer.Options.Faults, new OperatorStop { When = When.InStep(6, "caustic-wash", StepKind.WallSpray) }, new ClockStep { When = When.InCycle(8), Shift = TimeSpan.FromSeconds(2) }] }
            : washer.Options;
        return [.. new VirtualPoller(new SimulatedWasher(options), new PollerOptions
        {
            Seed = options.Seed,
            Start = Begin,
            Groups = [.. configuration.Groups.Select(g => new VirtualPollGroup(g.Number, g.Every, g.Heartbeat))],
        }).PollUntil(Length)];
    }

    /// <summary>What people tell, about kegs and parts that there are.</summary>
    private void Record()
    {
        var missed = Events<KegJudged>().First(e => e.Verdict.Verdict == Core.Verdicts.Verdict.NotMet);
        var keg = missed.Verdict;
        var act = new Act { By = "T. Ester", Role = Role.Qa, Reason = "the dwell was cut short", Means = Means.Page, Entered = End };
        var at = TimeBounds.At(missed.At.Latest + TimeSpan.FromMinutes(5));
        Historian.AppendEvents(
        [
            new KegDecided { Id = "told/hold", Washer = keg.Washer, CycleId = keg.CycleId, At = at, Act = act, KegId = keg.KegId, Station = keg.Station, Decision = KegDecision.Hold, VerdictId = missed.Id, Verdict = keg.Verdict },
            new KegDecided { Id = "told/rewash", Washer = keg.Washer, CycleId = keg.CycleId, At = TimeBounds.At(at.Latest + TimeSpan.FromMinutes(1)), Act = act, KegId = keg.KegId, Station = keg.Station, Decision = KegDecision.Rewash, Was = KegDecision.Hold, VerdictId = missed.Id, Verdict = keg.Verdict },
            new KegInspected { Id = "told/swab", Washer = keg.Washer, CycleId = keg.CycleId, At = at, Act = act, KegId = keg.KegId, Lot = "early", Inspection = InspectionKind.Swab, Passed = true, Found = "clean", Value = 12, Unit = "{RLU}" },
            new TitrationRecorded { Id = "told/titration", Washer = "north", At = at, Act = act, Bath = "caustic", Strength = 1.6, Unit = "%", Method = "acid to the second end point" },
            new BathChanged { Id = "told/bath", Washer = "yard", At = at, Act = act, Bath = "sanitiser" },
            new RecordCorrected { Id = "told/correction", Washer = "north", At = at, Act = act, Number = 4, Of = "titration-recorded", Field = "strength", OldValue = "1.6", NewValue = "1.7" },
            Tired(TimeBounds.At(End)),
            Weak(TimeBounds.At(End)),
        ]);
        Analyse();
    }

    /// <summary>A bath that has to be changed, as the analysis would tell of it: those of the demonstration stay well.</summary>
    private static ForecastMade Tired(TimeBounds at) => new()
    {
        Id = "told/forecast", Washer = "yard", At = at,
        Forecast = new Forecast
        {
            Component = new Component(ComponentKind.Bath, "caustic"), State = ForecastState.Approaching, Index = "strength/caustic", Unit = "mS/cm", Now = 71, Limit = 60, Slope = -20,
            CyclesLeft = 550, CyclesLeftLower = 400, CyclesLeftUpper = 800, Cycles = 310, Causes = [new Cause("drag-out", "what the kegs carry off", 0.7, [], [])],
        },
    };

    /// <summary>Likewise a figure that has a unit and drifts.</summary>
    private static DriftFound Weak(TimeBounds at) => new()
    {
        Id = "told/drift", Washer = "yard", At = at,
        Finding = new DriftFinding
        {
            Feature = "strength/caustic", Chart = ChartKind.Cusum, Unit = "mS/cm", Centre = 75, Spread = 0.5, ReferenceCycles = 200, Size = -4, SizeUncertainty = 0.4,
            Onset = new CycleSpan("c-1", at.Earliest, at.Earliest, at.Latest), CyclesTouched = 20, Kegs = [], KegCount = 80, FalseAlarmEvery = 10_000,
        },
    };

    private async Task ForwardAsync(CancellationToken stop)
    {
        var watched = new WatchedHistorian(Historian);
        var signal = new HistorianSignal();
        signal.Publish(Historian.LastSequence);
        using var follower = new InfluxFollower(Influx(), Site.Id, watched, signal, Site.Store.Path, TimeProvider.System, NullLogger<InfluxFollower>.Instance, new InfluxFollowerOptions { Gather = TimeSpan.Zero });
        using var done = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var running = follower.RunAsync(done.Token);
        await await Task.WhenAny(running, watched.MovedToAsync(follower.Name, Historian.LastSequence, stop));
        await done.CancelAsync();
        await running;
        Assert.Equal((0, 0), (follower.Status.LinesSetAside, follower.Status.FieldsOmitted));
    }

    /// <summary>Ten minutes of a bridge that tells of itself. In the last, the washer in the yard is not read, and somebody is behind.</summary>
    private async Task TellAsync(CancellationToken stop)
    {
        var time = new RecordingTime((End - TimeSpan.FromMinutes(10)).ToDateTimeOffset());
        var told = new List<BridgeHealth>();
        using var writer = new HealthWriter(Influx(), Site.Id, Look, time, NullLogger<HealthWriter>.Instance);
        using var done = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var running = writer.RunAsync(done.Token);
        for (var minute = 0; minute < 10; minute++)
        {
            await time.PassNextWaitAsync(except: HealthWriter.Patience);
        }

        // It waits only once it has told.
        await time.NextWaitAsync(except: HealthWriter.Patience);
        await done.CancelAsync();
        await running;
        Told = told;

        BridgeHealth Look()
        {
            var minute = told.Count;
            told.Add(new BridgeHealth(
                Instant.Floor(time.GetUtcNow()),
                new StoreSpace(1_000_000 + (minute * 10_000), 8_000_000_000 - (minute * 10_000), 20_000_000_000),
                minute % 3,
                [new("analyst", default), new("influx/plant", minute < 5 ? default : new LogLag(40 * minute, End - TimeSpan.FromMinutes(20)))],
                [new("north", 0, new ReadCounts(300 * minute, minute)), new("north", 1, new ReadCounts(120 * minute, 0)), new("yard", 0, new ReadCounts(300 * Math.Min(minute, 4), Math.Max(0, minute - 4)))]));
            return told[^1];
        }
    }

    private InfluxConfiguration Influx() => new() { Id = "plant", Url = _server!.Url, Api = 1, Bucket = Database };
}
