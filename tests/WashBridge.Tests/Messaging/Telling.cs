using Microsoft.Extensions.Logging;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Messaging;
using WashBridge.Pipeline;
using WashBridge.Tests.Configuration;
using WashBridge.Tests.Forwarding;

namespace WashBridge.Tests.Messaging;

/// <summary>An MQTT follower with all that it needs, in memory.</summary>
internal sealed class Telling : IAsyncDisposable
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T08:00:00Z");

    private readonly ConfigurationFixture _fixture = new();
    private CancellationTokenSource _stop = new();
    private Task _running = Task.CompletedTask;

    public Telling() => Site = _fixture.Load().Site!;

    public Site Site { get; }

    public FakeBroker Broker { get; } = new();

    public FakeHistorian Historian { get; } = new();

    public HistorianSignal Signal { get; private set; } = new();

    public RecordingTime Time { get; } = new();

    public LogRecord Log { get; } = new();

    public MqttFollowerOptions Options { get; set; } = new() { Gather = TimeSpan.Zero, Jitter = () => 0.5 };

    public MqttConfiguration Configuration { get; set; } = new() { Id = "plant", Host = "broker.example", Port = 1883, Group = "brewery", EdgeNode = "bridge-1" };

    public MqttFollower Follower { get; private set; } = null!;

    public Telling Begin()
    {
        _stop = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        Signal = new HistorianSignal();
        Signal.Publish(Historian.LastSequence);
        Follower = new MqttFollower(Configuration, Site, Historian, Signal, Time, Log, Options, Broker.Connect);
        _running = RunAsync(Follower, _stop.Token);
        return this;
    }

    public void Add(params WashEvent[] events) => Signal.Publish(Historian.AppendEvents(events));

    /// <summary>Adds them and returns once the cursor says that the broker has them.</summary>
    public async Task TellAsync(params WashEvent[] events)
    {
        Add(events);
        await Historian.MovedToAsync(Follower.Name, Historian.LastSequence);
    }

    /// <summary>The wait before the next attempt passes.</summary>
    public Task PassWaitAsync() => Time.PassNextWaitAsync(except: Options.Heartbeat);

    public async Task StopAsync()
    {
        await _stop.CancelAsync();
        await _running;
    }

    public async ValueTask DisposeAsync()
    {
        try
        {
            await StopAsync();
        }
        finally
        {
            _stop.Dispose();
            _fixture.Dispose();
        }
    }

    public static KegJudged Keg(int number, string washer = "w1", int station = 1, Verdict verdict = Verdict.Met) => new()
    {
        Id = $"{washer}/{number}/verdict", Washer = washer, CycleId = $"{washer}-{number}", At = At(number),
        Verdict = new KegVerdict
        {
            KegId = $"K-{number}", KegIdSource = KegIdSource.Scan, CycleId = $"{washer}-{number}", Washer = washer, Station = station, Recipe = "standard", RecipeVersion = 3,
            Rule = DecisionRule.Bounds, Verdict = verdict,
            Results = [new RequirementResult { Requirement = "dwell", Verdict = verdict, Evidence = "held 44 s of 45 s" }],
        },
    };

    public static SourceLost Lost(int number, string washer = "w1", int group = 0) => new() { Id = $"{washer}/{number}/lost", Washer = washer, At = At(number), Group = group, Reason = "no answer within 1 s" };

    public static SourceRestored Back(int number, string washer = "w1", int group = 0) => new() { Id = $"{washer}/{number}/back", Washer = washer, At = At(number), Group = group, Gap = At(number) };

    /// <summary>So many seconds after the start.</summary>
    public static TimeBounds At(int number) => TimeBounds.At(Start + TimeSpan.FromSeconds(number));

    public static ulong Milliseconds(int number) => (ulong)At(number).Latest.ToDateTimeOffset().ToUnixTimeMilliseconds();

    private async Task RunAsync(MqttFollower follower, CancellationToken stop)
    {
        try
        {
            await follower.RunAsync(stop);
        }
        catch (Exception e)
        {
            Broker.End(e);
            Time.End(e);
            Historian.End(e);
            throw;
        }
    }

    internal sealed class LogRecord : ILogger<MqttFollower>
    {
        private readonly Lock _lock = new();
        private readonly List<(int Id, LogLevel Level, string Text)> _entries = [];

        public IReadOnlyList<(int Id, LogLevel Level, string Text)> Of(int id)
        {
            lock (_lock)
            {
                return [.. _entries.Where(e => e.Id == id)];
            }
        }

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
            lock (_lock)
            {
                _entries.Add((eventId.Id, logLevel, formatter(state, exception)));
            }
        }
    }
}
