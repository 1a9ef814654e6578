using System.Text.Json;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Benchmarks.Influx;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Messaging;
using WashBridge.Pipeline;

namespace WashBridge.EndToEnd.Tests.Messaging;

/// <summary>A real historian and a follower that tells a real broker what it holds.</summary>
internal sealed class Teller : IAsyncDisposable
{
    private static readonly MqttFollowerOptions Quick = new() { Gather = TimeSpan.Zero, FirstDelay = TimeSpan.FromMilliseconds(20), LongestDelay = TimeSpan.FromMilliseconds(200), MaxEntries = 100 };

    private readonly string _folder = Directory.CreateTempSubdirectory("washbridge-teller-").FullName;
    private readonly HistorianSignal _signal = new();
    private CancellationTokenSource _stop = new();
    private Task _running = Task.CompletedTask;

    public Teller(Mosquitto broker)
    {
        Historian = new WatchedHistorian(WashBridge.Historian.Historian.Open(Path.Combine(_folder, "store.db"), new HistorianOptions(), TimeProvider.System));
        Configuration = new MqttConfiguration { Id = "plant", Host = "localhost", Port = broker.Port, Group = "brewery", EdgeNode = "bridge" };
    }

    public static Site Site { get; } = ConfigurationLoader.Load(Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml")).Site!;

    public static string Washer => Site.Washers[0].Model.Washer;

    public MqttConfiguration Configuration { get; set; }

    public WatchedHistorian Historian { get; }

    public MqttFollower Follower { get; private set; } = null!;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Begin()
    {
        _stop = CancellationTokenSource.CreateLinkedTokenSource(Stop);
        Follower = new MqttFollower(Configuration, Site, Historian, _signal, TimeProvider.System, NullLogger<MqttFollower>.Instance, Quick);
        _running = Follower.RunAsync(_stop.Token);
    }

    public void Add(IReadOnlyList<WashEvent> events) => _signal.Publish(Historian.AppendEvents(events));

    /// <summary>Waits until the follower's condition is as wanted.</summary>
    public async Task<MqttCondition> FailAsync()
    {
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(20));
        while (Follower.Status.Condition is null)
        {
            await look.WaitForNextTickAsync(Stop);
        }

        return Follower.Status.Condition!;
    }

    public async Task StopAsync()
    {
        await _stop.CancelAsync();
        await _running;
    }

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        _stop.Dispose();
        Historian.Dispose();
        Directory.Delete(_folder, recursive: true);
    }
}

/// <summary>A message as the independent decoder printed it.</summary>
internal sealed record Heard(string Topic, bool Retain, int Qos, JsonElement Content)
{
    public string Kind => Topic["spBv1.0/brewery/".Length..];

    public IEnumerable<JsonElement> Metrics => Content.GetProperty("metrics").EnumerateArray();

    public JsonElement this[string metric] => Metrics.First(m => m.GetProperty("name").GetString() == metric);

    public static async Task<Heard> NextAsync(PeerProcess listener)
    {
        var content = JsonDocument.Parse(await listener.NextAnswerAsync()).RootElement;
        return new Heard(content.GetProperty("topic").GetString()!, content.GetProperty("retain").GetBoolean(), content.GetProperty("qos").GetInt32(), content);
    }

    /// <summary>All that is heard up to the first message that fits, with it.</summary>
    public static async Task<List<Heard>> UntilAsync(PeerProcess listener, Predicate<Heard> fits)
    {
        var all = new List<Heard>();
        do
        {
            all.Add(await NextAsync(listener));
        }
        while (!fits(all[^1]));

        return all;
    }

    /// <summary>Values of one kind of metric (the end of its name) in all data messages.</summary>
    public static IEnumerable<(string Value, bool IsHistorical)> Values(IEnumerable<Heard> heard, string end) => heard.Where(h => h.Kind.StartsWith("DDATA", StringComparison.Ordinal)).SelectMany(h => h.Metrics)
        .Where(m => m.GetProperty("name").GetString()!.EndsWith(end, StringComparison.Ordinal))
        .Select(m => (m.GetProperty("value").GetString()!, m.TryGetProperty("isHistorical", out var flag) && flag.GetBoolean()));
}
