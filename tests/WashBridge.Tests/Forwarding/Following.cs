using Microsoft.Extensions.Logging;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Forwarding;
using WashBridge.Pipeline;

namespace WashBridge.Tests.Forwarding;

/// <summary>A follower with all that it needs, in memory but for the set-aside file.</summary>
internal sealed class Following : IAsyncDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("washbridge-").FullName;
    private readonly CancellationTokenSource _stop = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
    private Task _running = Task.CompletedTask;
    private InfluxFollower? _follower;

    public FakeInflux Influx { get; set; } = new();

    public FakeHistorian Historian { get; } = new();

    public HistorianSignal Signal { get; } = new();

    public RecordingTime Time { get; } = new();

    public LogRecord Log { get; } = new();

    public InfluxFollowerOptions Options { get; set; } = new() { Gather = TimeSpan.Zero, Jitter = () => 0.5 };

    public InfluxConfiguration Configuration { get; set; } = new() { Id = "plant", Url = new Uri("http://influx.example:8086/"), Api = 1, Bucket = "keg" };

    public InfluxFollower Follower => _follower ?? throw new InvalidOperationException("not started");

    public InfluxFollowerStatus Status => Follower.Status;

    public string SetAsidePath => InfluxFollower.SetAsidePath(StorePath, Configuration.Id);

    public string StorePath => Path.Combine(_folder, "store.db");

    public Following Start()
    {
        _follower = new InfluxFollower(Configuration, "north", Historian, Signal, StorePath, Time, Log, Options, Influx);
        _running = RunAsync(_follower);
        return this;
    }

    /// <summary>Whoever waits for a follower that has failed must not wait for ever.</summary>
    private async Task RunAsync(InfluxFollower follower)
    {
        try
        {
            await follower.RunAsync(_stop.Token);
        }
        catch (Exception e)
        {
            Influx.End(e);
            Time.End(e);
            Historian.End(e);
            throw;
        }
    }

    public void Add(params WashEvent[] events) => Signal.Publish(Historian.AppendEvents(events));

    public void Add(params Frame[] frames) => Signal.Publish(Historian.AppendFrames(frames));

    /// <summary>A wait that is not the time limit of a request passes; how long was it?</summary>
    public Task<TimeSpan> PassWaitAsync() => Time.PassNextWaitAsync(except: Options.RequestTimeout);

    public IReadOnlyList<string> SetAside() => File.Exists(SetAsidePath) ? File.ReadAllLines(SetAsidePath) : [];

    /// <summary>Stops as the service does, and passes on what went wrong.</summary>
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
            _follower?.Dispose();
            _stop.Dispose();
            Directory.Delete(_folder, recursive: true);
        }
    }

    internal sealed class LogRecord : ILogger<InfluxFollower>, ILogger<HealthWriter>
    {
        private readonly Lock _lock = new();
        private readonly List<(int Id, LogLevel Level, string Text)> _entries = [];

        public IReadOnlyList<(int Id, LogLevel Level, string Text)> Entries
        {
            get
            {
                lock (_lock)
                {
                    return [.. _entries];
                }
            }
        }

        public int Count(int id) => Entries.Count(e => e.Id == id);

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
