using System.Net;
using System.Threading.Channels;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Polling;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Tests.Polling;

/// <summary>The poller against a real server on loopback. Every wait is for a frame, never for time.</summary>
public sealed class ModbusPollerTests : IAsyncDisposable
{
    private static readonly Signal Step = new("w1", 0, "sequence.step", "", SignalType.Integer);
    private static readonly Signal Heat = new("w1", 0, "temperature.caustic", "Cel", SignalType.Quantity);

    private readonly Device _device = new();
    private readonly Channel<Frame> _frames = Channel.CreateBounded<Frame>(1000);
    private readonly CancellationTokenSource _stop = new(TimeSpan.FromSeconds(30));
    private readonly MovableClock _time = new();
    private ModbusServer _server;
    private Task _polling = Task.CompletedTask;

    public ModbusPollerTests() => _server = ModbusServer.Start(new IPEndPoint(IPAddress.Loopback, 0), _device);

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await _polling;
        await _server.DisposeAsync();
        _stop.Dispose();
    }

    [Fact]
    public async Task First_comes_a_clock_frame_then_everything_then_changes()
    {
        Begin();

        var clock = await NextAsync(f => f.Kind == FrameKind.Clock);
        Assert.Null(clock.Clock!.Value.Shift);
        var full = await NextAsync(_ => true);
        Assert.Equal((FrameKind.Full, 2), (full.Kind, full.Samples.Count));
        Assert.Equal(80.5, full.Samples.Single(s => s.Signal == Heat).Value.Number);

        _device.Registers[0] = 7;
        var change = await NextAsync(f => f.Samples.Count > 0);
        Assert.Equal((FrameKind.Changes, Step, 7.0), (change.Kind, change.Samples[0].Signal, change.Samples[0].Value.Number));
    }

    [Fact]
    public async Task Every_sample_says_between_which_instants_the_device_can_have_held_it()
    {
        Begin();

        var full = await NextAsync(f => f.Kind == FrameKind.Full);

        var held = Instant.Floor(_device.LastRead);
        Assert.True(held >= full.Read.Earliest && held <= full.Read.Latest);
        Assert.All(full.Samples, s => Assert.True(s.At.Earliest >= full.Read.Earliest && s.At.Latest <= full.Read.Latest));
    }

    [Fact]
    public async Task When_the_device_vanishes_one_failed_frame_says_why_and_on_its_return_everything_is_listed()
    {
        var endpoint = _server.Endpoint;
        Begin();
        await NextAsync(f => f.Kind == FrameKind.Full);

        await _server.DisposeAsync();
        var failed = await NextAsync(f => f.Kind == FrameKind.Failed);
        Assert.NotEmpty(failed.Reason!);

        _server = ModbusServer.Start(endpoint, _device);
        var next = await NextAsync(_ => true);
        Assert.Equal(FrameKind.Full, next.Kind);
    }

    [Fact]
    public async Task A_refused_address_is_a_bad_sample_and_does_not_hide_the_rest()
    {
        _device.Refused = 1;
        Begin();

        var full = await NextAsync(f => f.Kind == FrameKind.Full);

        Assert.Equal(Quality.Good, full.Samples.Single(s => s.Signal == Step).Quality);
        Assert.Equal(Quality.Bad, full.Samples.Single(s => s.Signal == Heat).Quality);
    }

    [Fact]
    public async Task A_clock_that_is_set_is_told_before_the_next_values()
    {
        Begin();
        var before = await NextAsync(f => f.Kind == FrameKind.Full);

        _time.SetBy(TimeSpan.FromHours(-1));

        var told = await NextAsync(f => f.Kind is FrameKind.Clock);
        Assert.InRange(told.Clock!.Value.Shift!.Value.TotalSeconds, -3600.02, -3599.98);
        var after = await NextAsync(_ => true);
        Assert.True(after.Read.Latest < before.Read.Earliest);
    }

    private void Begin()
    {
        var washer = new WasherConfiguration
        {
            Model = new WasherModel { Washer = "w1", Stations = 1, Programme = [], Sequence = new StepRules([]), Signals = [Step, Heat] },
            Connection = new ModbusConnection { Host = "127.0.0.1", Port = _server.Endpoint.Port, Timeout = TimeSpan.FromSeconds(5) },
            Groups = [new PollGroup(0, "all", TimeSpan.FromMilliseconds(20), TimeSpan.FromMinutes(1))],
            Tags =
            [
                new Tag { Signal = Step, Group = 0, Source = new ModbusSource(new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.UInt16)) },
                new Tag { Signal = Heat, Group = 0, Source = new ModbusSource(new ModbusPoint(ModbusTable.HoldingRegisters, 1, RegisterType.Int16)), Scale = 0.1 },
            ],
            Recipe = new Recipe { Id = "r", Version = 1, Requirements = [] },
        };
        var poller = new ModbusPoller(washer, _frames.Writer, new SteadyClock(_time), new ClockShift(null), _time, NullLogger<ModbusPoller>.Instance);
        _polling = poller.RunAsync(_stop.Token);
    }

    /// <summary>The next frame that fits; those before it are passed over, unless they are of a kind nobody expects.</summary>
    private async Task<Frame> NextAsync(Predicate<Frame> fits)
    {
        while (true)
        {
            var frame = await _frames.Reader.ReadAsync(_stop.Token);
            if (fits(frame))
            {
                return frame;
            }
        }
    }

    private sealed class Device : IModbusDataSource
    {
        public ushort[] Registers { get; } = [5, 805];

        public int? Refused { get; set; }

        public DateTimeOffset LastRead { get; private set; }

        public ModbusExceptionCode? ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination) => ModbusExceptionCode.IllegalDataAddress;

        public ModbusExceptionCode? ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination)
        {
            if (address + destination.Length > Registers.Length || (Refused is { } refused && refused >= address && refused < address + destination.Length))
            {
                return ModbusExceptionCode.IllegalDataAddress;
            }

            LastRead = LastRead == default ? TimeProvider.System.GetUtcNow() : LastRead;
            Registers.AsSpan(address, destination.Length).CopyTo(destination);
            return null;
        }

        public IReadOnlyDictionary<byte, string> Identify(byte unit) => new Dictionary<byte, string>();
    }

    /// <summary>The machine's time, with a wall clock that can be set.</summary>
    private sealed class MovableClock : TimeProvider
    {
        private long _shiftTicks;

        public void SetBy(TimeSpan shift) => Interlocked.Add(ref _shiftTicks, shift.Ticks);

        public override DateTimeOffset GetUtcNow() => base.GetUtcNow().AddTicks(Interlocked.Read(ref _shiftTicks));
    }
}
