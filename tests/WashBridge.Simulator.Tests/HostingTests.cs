using System.Text.Json;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Core.Cycles;
using WashBridge.Protocols.Modbus;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Hosting;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests;

public sealed class HostingTests
{
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 8, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task A_client_reads_the_washer_as_it_is_at_the_providers_time()
    {
        var time = new FakeTimeProvider(Start);
        await using var host = await SimulationHost.StartAsync([(North(), 0)], time);
        await using var client = await Connect(host);
        var codes = new List<ushort>();
        foreach (var seconds in new[] { 1, 5, 6, 12 })
        {
            time.Advance(TimeSpan.FromSeconds(seconds));
            codes.Add(await StepCode(client));
        }

        // 1, 6, 12 and 24 s: idle, rinse wall spray, rinse wall spray or spear, rinse over or draining.
        Assert.Equal(0, codes[0]);
        Assert.Equal(11, codes[1]);
        Assert.All(codes.Skip(2), c => Assert.InRange(c, 11, 21));
        Assert.True(host.Washers[0].Washer.Now >= TimeSpan.FromSeconds(23.9));
        var identity = await client.ReadDeviceIdentificationAsync(1, cancellation: TestContext.Current.CancellationToken);
        Assert.Equal("Example", identity.Objects[0]);
    }

    [Fact]
    public async Task A_washer_that_waits_begins_when_it_is_told_and_only_once()
    {
        var time = new FakeTimeProvider(Start);
        await using var host = await SimulationHost.StartAsync([(new SimulatedWasher(North().Options with { WaitsToBegin = true }), 0)], time);
        await using var client = await Connect(host);
        time.Advance(TimeSpan.FromSeconds(30));
        Assert.Equal(0, await StepCode(client));
        Assert.Null(host.Washers[0].Washer.CurrentCycle);

        host.Washers[0].Begin(TimeSpan.FromSeconds(20));
        time.Advance(TimeSpan.FromSeconds(24));
        Assert.Equal(0, await StepCode(client));
        time.Advance(TimeSpan.FromSeconds(2));
        Assert.Equal(11, await StepCode(client));
        Assert.Equal(2, host.Washers[0].Washer.CurrentCycle!.Kegs.Count);
        Assert.Throws<InvalidOperationException>(() => host.Washers[0].Begin(TimeSpan.Zero));
    }

    [Fact]
    public async Task A_lost_connection_closes_the_server_and_the_same_port_answers_when_it_is_back()
    {
        var time = new FakeTimeProvider(Start);
        await using var host = await SimulationHost.StartAsync(
            [(North(new ConnectionLoss { When = When.At(TimeSpan.FromSeconds(10)), Duration = TimeSpan.FromSeconds(20) }), 0)], time);
        await using var client = await Connect(host);
        await StepCode(client);
        time.Advance(TimeSpan.FromSeconds(11));
        await host.Settled();
        Assert.False(host.Washers[0].IsListening);
        await Assert.ThrowsAsync<ModbusConnectionException>(() => StepCode(client));
        await Assert.ThrowsAsync<ModbusConnectionException>(() => Connect(host));
        time.Advance(TimeSpan.FromSeconds(20));
        await host.Settled();
        await using var again = await Connect(host);
        Assert.NotEqual(0, await StepCode(again));
    }

    [Fact]
    public async Task A_request_between_the_loss_and_the_closing_gets_no_values()
    {
        var time = new FakeTimeProvider(Start);
        await using var host = await SimulationHost.StartAsync(
            [(North(new PowerCut { When = When.At(TimeSpan.FromSeconds(10)), Duration = TimeSpan.FromSeconds(20) }), 0)], time);
        var source = (IModbusDataSource)host.Washers[0];
        Assert.Null(source.ReadRegisters(1, ModbusTable.HoldingRegisters, 0, new ushort[1]));

        // Moved past the cut without the timer: the request itself brings the washer there.
        time.AutoAdvanceAmount = TimeSpan.FromSeconds(11);
        Assert.Equal(ModbusExceptionCode.GatewayTargetFailedToRespond, source.ReadRegisters(1, ModbusTable.HoldingRegisters, 0, new ushort[1]));
    }

    [Fact]
    public async Task A_slow_controller_answers_after_its_delay()
    {
        var time = new FakeTimeProvider(Start);
        await using var host = await SimulationHost.StartAsync(
            [(North(new SlowReplies { When = When.At(TimeSpan.FromSeconds(1)), Duration = TimeSpan.FromMinutes(1), Delay = TimeSpan.FromSeconds(2) }), 0)], time);
        await using var client = await Connect(host);
        time.Advance(TimeSpan.FromSeconds(3));
        var asked = time.GetUtcNow();
        var reading = StepCode(client);
        while (!reading.IsCompleted)
        {
            time.Advance(TimeSpan.FromMilliseconds(100));
            await Task.Yield();
        }

        await reading;
        Assert.True(time.GetUtcNow() - asked >= TimeSpan.FromSeconds(2));
    }

    [Fact]
    public async Task The_demonstration_starts_on_ports_of_its_own_choice_and_stops_cleanly()
    {
        var time = new FakeTimeProvider(Start);
        var host = await SimulationHost.StartAsync([.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], time);
        await using (var client = await Connect(host))
        {
            await StepCode(client);
        }

        await host.DisposeAsync();
        await Assert.ThrowsAsync<ModbusConnectionException>(() => Connect(host));
    }

    [Fact]
    public void The_truth_is_written_a_line_a_cycle_with_virtual_and_wall_times()
    {
        var path = Path.Combine(Path.GetTempPath(), $"truth-{Guid.NewGuid():N}.jsonl");
        try
        {
            var washer = North();
            using (var writer = new TruthWriter(path, Start))
            {
                writer.Follow(washer);
                washer.AdvanceTo(TimeSpan.FromMinutes(10));
            }

            washer.AdvanceTo(TimeSpan.FromMinutes(20));
            var lines = File.ReadAllLines(path);
            Assert.Equal(washer.FinishedCycles.Count(c => c.End < TimeSpan.FromMinutes(10)), lines.Length);
            var first = JsonDocument.Parse(lines[0]).RootElement;
            var truth = washer.FinishedCycles.First();
            Assert.Equal("north", first.GetProperty("washer").GetString());
            Assert.Equal("Completed", first.GetProperty("outcome").GetString());
            Assert.Equal(truth.Start.TotalSeconds, first.GetProperty("start").GetProperty("t").GetDouble(), 6);
            Assert.Equal("2031-03-05T08:00:05.000000Z", first.GetProperty("start").GetProperty("at").GetString());
            var hold = first.GetProperty("phases").EnumerateArray().Single(p => p.GetProperty("id").GetString() == "sanitise").GetProperty("passes")[0].GetProperty("steps")[2];
            Assert.Equal(truth.Steps.Single(s => s.Kind == StepKind.Hold).End!.Value.TotalSeconds, hold.GetProperty("end").GetProperty("t").GetDouble(), 6);
            Assert.Equal(0, hold.GetProperty("paused").GetDouble());
        }
        finally
        {
            File.Delete(path);
        }
    }

    private static SimulatedWasher North(params Fault[] faults) => new(DemoScenario.Washers[0].Options with { Faults = faults });

    private static Task<ModbusClient> Connect(SimulationHost host) =>
        ModbusClient.ConnectAsync(
            new ModbusClientOptions { Host = "127.0.0.1", Port = host.Washers[0].Endpoint.Port, Timeout = TimeSpan.FromSeconds(30) },
            null,
            TimeProvider.System,
            TestContext.Current.CancellationToken);

    private static async Task<ushort> StepCode(ModbusClient client)
    {
        var registers = new ushort[1];
        await client.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 0, registers, TestContext.Current.CancellationToken);
        return registers[0];
    }
}
