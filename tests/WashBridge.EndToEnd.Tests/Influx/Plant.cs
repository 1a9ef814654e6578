using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Benchmarks.Influx;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.EndToEnd.Tests.Influx;

/// <summary>A real historian and a real server, and the followers in between.</summary>
internal sealed class Plant : IAsyncDisposable
{
    public const string Database = "keg";

    private static readonly InfluxFollowerOptions Quick = new()
    {
        Gather = TimeSpan.Zero,
        FirstDelay = TimeSpan.FromMilliseconds(20),
        LongestDelay = TimeSpan.FromMilliseconds(200),
    };

    private readonly string _folder = Directory.CreateTempSubdirectory("washbridge-plant-").FullName;

    private Plant(InfluxServer server)
    {
        Server = server;
        Historian = new WatchedHistorian(WashBridge.Historian.Historian.Open(StorePath, new HistorianOptions(), TimeProvider.System));
    }

    public InfluxServer Server { get; }

    public WatchedHistorian Historian { get; }

    public HistorianSignal Signal { get; } = new();

    public string SetAsidePath => InfluxFollower.SetAsidePath(StorePath, "plant");

    private string StorePath => Path.Combine(_folder, "store.db");

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public static async Task<Plant> StartAsync(bool authentication = false)
    {
        var server = await InfluxServer.StartAsync(Stop, authentication);
        await server.CreateDatabaseAsync(Database, Stop);
        return new Plant(server);
    }

    public InfluxConfiguration Native() => new() { Id = "plant", Url = Server.Url, Api = 1, Bucket = Database };

    public void Add(IReadOnlyList<WashEvent> events) => Signal.Publish(Historian.AppendEvents(events));

    public InfluxFollower NewFollower(InfluxConfiguration configuration, HttpMessageHandler? transport = null, InfluxFollowerOptions? options = null) =>
        new(configuration, "north", Historian, Signal, StorePath, TimeProvider.System, NullLogger<InfluxFollower>.Instance, options ?? Quick, transport);

    /// <summary>Runs a follower until the whole log is with the server.</summary>
    public async Task<InfluxFollowerStatus> ForwardAllAsync(InfluxConfiguration configuration, HttpMessageHandler? transport = null, InfluxFollowerOptions? options = null)
    {
        using var follower = NewFollower(configuration, transport, options);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(Stop);
        var running = follower.RunAsync(stop.Token);
        var moved = Historian.MovedToAsync(follower.Name, Historian.LastSequence, stop.Token);
        await await Task.WhenAny(running, moved);
        await stop.CancelAsync();
        await running;
        return follower.Status;
    }

    public Task<IReadOnlyList<IReadOnlyDictionary<string, System.Text.Json.JsonElement>>> RowsAsync(string query) => Server.RowsAsync(Database, query, Stop);

    /// <summary>Those that hold one point an event.</summary>
    private static readonly string[] Measurements =
    [
        "wash_cycle_start", "wash_step_start", "wash_step", "wash_drain", "wash_pause", "wash_cycle", "wash_keg", "wash_scan", "wash_setpoint", "wash_source", "wash_clock", "wash_measured",
        "wash_alarm", "wash_alarm_order", "wash_drift", "wash_setpoint_deviation", "wash_forecast", "wash_forecast_score", "wash_maintenance",
        "wash_decision", "wash_inspection", "wash_lot_sample", "wash_titration", "wash_bath_change", "wash_correction", "wash_recipe_act", "wash_rejudged",
    ];

    /// <summary>Every id of every measurement that holds one point an event, as often as it is there.</summary>
    public async Task<IReadOnlyList<string>> IdsAsync()
    {
        var ids = new List<string>();
        foreach (var measurement in Measurements)
        {
            ids.AddRange((await RowsAsync($"SELECT id FROM {measurement}")).Select(r => r["id"].GetString()!));
        }

        return ids;
    }

    /// <summary>None missing, none twice, none that nobody sent.</summary>
    public async Task AssertHoldsAsync(IReadOnlyList<WashEvent> events)
    {
        // The mere passing of time and changes of accounts have no point.
        var sent = events.Where(e => e is not (TimePassed or AccountChanged)).Select(e => e.Id).ToList();
        var ids = await IdsAsync();
        Assert.Empty(sent.Except(ids));
        Assert.Empty(ids.Except(sent));
        Assert.Equal(sent.Count, ids.Count);
    }

    public async ValueTask DisposeAsync()
    {
        Historian.Dispose();
        await Server.DisposeAsync();
        Directory.Delete(_folder, recursive: true);
    }
}
