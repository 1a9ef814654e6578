using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;

namespace WashBridge.Simulator.Hosting;

/// <summary>
/// Simulated washers behind Modbus or OPC UA servers on loopback. Their time is that of the provider since the start: a scaled provider makes them run faster.
/// Washers are brought to the present at every request and by a timer; the timer also closes and opens servers as connections are lost and come back.
/// </summary>
public sealed class SimulationHost : IAsyncDisposable
{
    private static readonly TimeSpan Tick = TimeSpan.FromMilliseconds(100);
    private readonly long _start;
    private readonly Lock _gate = new();
    private readonly ITimer _timer;
    private Task _settling = Task.CompletedTask;
    private bool _stopped;
    private IReadOnlyList<HostedWasher> _washers = [];

    private SimulationHost(TimeProvider time)
    {
        (_start, StartedAt) = ReadTogether(time);
        _timer = time.CreateTimer(_ => Settle(), null, Tick, Tick);
    }

    public IReadOnlyList<HostedWasher> Washers => _washers;

    /// <summary>The wall clock at virtual time zero.</summary>
    public DateTimeOffset StartedAt { get; }

    /// <inheritdoc cref="StartAsync(IReadOnlyList{HostedController}, TimeProvider, ILogger?)"/>
    public static Task<SimulationHost> StartAsync(IReadOnlyList<(SimulatedWasher Washer, int Port)> washers, TimeProvider time, ILogger? logger = null) =>
        StartAsync([.. (washers ?? throw new ArgumentNullException(nameof(washers))).Select(w => new HostedController(w.Washer, w.Port))], time, logger);

    /// <param name="controllers">New washers, each with the port it answers on.</param>
    /// <param name="time">The time they live in.</param>
    /// <param name="logger">For the servers.</param>
    /// <exception cref="System.Net.Sockets.SocketException">A port is in use.</exception>
    public static async Task<SimulationHost> StartAsync(IReadOnlyList<HostedController> controllers, TimeProvider time, ILogger? logger = null)
    {
        ArgumentNullException.ThrowIfNull(controllers);
        ArgumentNullException.ThrowIfNull(time);
        var host = new SimulationHost(time);
        var hosted = new List<HostedWasher>();
        try
        {
            foreach (var controller in controllers)
            {
                var washer = host.Host(controller, time, logger ?? NullLogger.Instance);
                await washer.StartAsync(controller.Port);
                hosted.Add(washer);
            }
        }
        catch
        {
            foreach (var washer in hosted)
            {
                await washer.StopAsync();
            }

            await host.DisposeAsync();
            throw;
        }

        host._washers = hosted;
        return host;
    }

    /// <summary>Closes all servers. Nothing moves any more after that.</summary>
    public async ValueTask DisposeAsync()
    {
        lock (_gate)
        {
            _stopped = true;
        }

        await _timer.DisposeAsync();
        await _settling;
        foreach (var washer in Washers)
        {
            await washer.StopAsync();
        }
    }

    /// <summary>For tests: what the last tick began.</summary>
    internal Task Settled()
    {
        lock (_gate)
        {
            return _settling;
        }
    }

    private HostedWasher Host(HostedController controller, TimeProvider time, ILogger logger)
    {
        TimeSpan Elapsed() => time.GetElapsedTime(_start);
        return controller.OpcUa is { } options
            ? new OpcUaWasher(controller.Washer, options, StartedAt, _start, Elapsed, logger, time)
            : new ModbusWasher(controller.Washer, Elapsed, logger, time);
    }

    /// <summary>The two clocks cannot be read at once, and a hurried one runs far between two reads: take the tightest of a few tries.</summary>
    private static (long Stamp, DateTimeOffset Wall) ReadTogether(TimeProvider time)
    {
        var best = (Spent: long.MaxValue, Stamp: 0L, Wall: default(DateTimeOffset));
        for (var attempt = 0; attempt < 10; attempt++)
        {
            var stamp = time.GetTimestamp();
            var wall = time.GetUtcNow();
            var spent = time.GetTimestamp() - stamp;
            best = spent < best.Spent ? (spent, stamp, wall) : best;
        }

        return (best.Stamp, best.Wall);
    }

    private void Settle()
    {
        lock (_gate)
        {
            if (!_stopped && _settling.IsCompleted)
            {
                _settling = SettleAllAsync();
            }
        }
    }

    private async Task SettleAllAsync()
    {
        foreach (var washer in Washers)
        {
            await washer.SettleAsync();
        }
    }
}
