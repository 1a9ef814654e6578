using System.Net;
using CsCheck;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>Scans of a device that has all, some, or none of the points.</summary>
public sealed class ModbusScannerTests
{
    private static readonly IPEndPoint AnyPort = new(IPAddress.Loopback, 0);

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(1)]
    [InlineData(4)]
    [InlineData(16)]
    public async Task Points_of_all_tables_and_types_come_in_the_order_asked_for(int inFlight)
    {
        var source = new TableSource();
        await using var server = ModbusServer.Start(AnyPort, source);
        await using var client = await Clients.ToAsync(server, inFlight);
        ModbusPoint[] points =
        [
            new(ModbusTable.HoldingRegisters, 900, RegisterType.UInt16),
            new(ModbusTable.HoldingRegisters, 3, RegisterType.UInt32),
            new(ModbusTable.Coils, 7, RegisterType.Bit),
            new(ModbusTable.DiscreteInputs, 8, RegisterType.Bit),
            new(ModbusTable.InputRegisters, 0x4B65, RegisterType.Text, TextLength: 2),
            new(ModbusTable.HoldingRegisters, 0x1A, RegisterType.Bcd16),
            new(ModbusTable.HoldingRegisters, 6, RegisterType.Bit, BitNumber: 1),
            new(ModbusTable.InputRegisters, 500, RegisterType.Int64),
        ];
        var scanner = new ModbusScanner(1, points, new ReadPlanOptions());
        var result = scanner.CreateResult();
        for (var scan = 0; scan < 3; scan++)
        {
            await scanner.ScanAsync(client, result, Cancellation);
            Assert.Equal([900, (3 << 16) + 4, 1, 0, double.NaN, double.NaN, 1, 500L << 48 | 501L << 32 | 502L << 16 | 503], Numbers(result));
            Assert.Equal("Ke", result.Points[4].Text);
            Assert.Equal(DecodeIssue.NotBcd, result.Points[5].Error?.Issue);
            Assert.Equal([0x1A], result.Points[5].Raw.ToArray());
            Assert.True(result.Points[7].IsInexact);
            Assert.Equal(7, result.RequestCount);
            foreach (var point in result.Points)
            {
                var timing = result.Timings[point.TimingIndex];
                Assert.InRange(timing.Sent, result.Sent, timing.Received);
                Assert.InRange(timing.Received, timing.Sent, result.Received);
            }
        }
    }

    [Fact]
    public async Task A_refused_gap_is_found_once_and_planned_around_from_then_on()
    {
        var source = new TableSource { Refused = { [103] = ModbusExceptionCode.IllegalDataAddress } };
        var (scanner, client, server) = await ScannerAsync(source, [100, 101, 105, 106, 108]);
        await using var _ = server;
        await using var __ = client;
        var result = scanner.CreateResult();
        await scanner.ScanAsync(client, result, Cancellation);
        Assert.Equal([100, 101, 105, 106, 108], Numbers(result));

        source.ForgetAsked();
        await scanner.ScanAsync(client, result, Cancellation);
        Assert.Equal([(100, 2), (105, 4)], source.Asked.Select(a => ((int)a.Address, a.Quantity)));
        Assert.Equal([100, 101, 105, 106, 108], Numbers(result));
    }

    [Fact]
    public async Task A_refused_point_has_its_error_and_the_others_their_values()
    {
        var source = new TableSource { Refused = { [105] = ModbusExceptionCode.IllegalDataAddress } };
        var time = new FakeTimeProvider();
        var (scanner, client, server) = await ScannerAsync(source, [100, 101, 105, 106, 108], time);
        await using var _ = server;
        await using var __ = client;
        var result = scanner.CreateResult();
        for (var scan = 0; scan < 4; scan++)
        {
            source.ForgetAsked();
            await scanner.ScanAsync(client, result, Cancellation);
            Assert.Equal([100, 101, double.NaN, 106, 108], Numbers(result));
            Assert.Equal(ModbusExceptionCode.IllegalDataAddress, result.Points[2].Error?.Code);
        }

        // By now it asks only for what is there.
        Assert.Equal([(100, 2), (106, 3)], source.Asked.Select(a => ((int)a.Address, a.Quantity)));
        Assert.Equal(-1, result.Points[2].TimingIndex);

        // The device gets the point: found after the time for which a refusal is remembered, then read with the others.
        source.Refused.Clear();
        time.Advance(TimeSpan.FromMinutes(1));
        await scanner.ScanAsync(client, result, Cancellation);
        Assert.Equal([100, 101, 105, 106, 108], Numbers(result));
        source.ForgetAsked();
        await scanner.ScanAsync(client, result, Cancellation);
        Assert.Equal([(100, 9)], source.Asked.Select(a => ((int)a.Address, a.Quantity)));
    }

    [Fact]
    public async Task A_device_that_takes_only_short_requests_is_read_in_short_requests()
    {
        var source = new TableSource { MaxQuantity = 10 };
        var addresses = Enumerable.Range(0, 64).Select(i => (ushort)i).ToArray();
        var (scanner, client, server) = await ScannerAsync(source, addresses);
        await using var _ = server;
        await using var __ = client;
        var result = scanner.CreateResult();
        for (var scan = 0; scan < 3; scan++)
        {
            source.ForgetAsked();
            await scanner.ScanAsync(client, result, Cancellation);
            Assert.Equal(addresses.Select(a => (double)a), Numbers(result));
        }

        Assert.All(source.Asked, a => Assert.InRange(a.Quantity, 1, 10));
        Assert.InRange(source.Asked.Count, 7, 8);
    }

    [Fact]
    public async Task Any_other_exception_concerns_the_points_of_its_request_and_is_not_remembered()
    {
        var source = new TableSource { Refused = { [500] = ModbusExceptionCode.ServerDeviceBusy } };
        var (scanner, client, server) = await ScannerAsync(source, [100, 500, 501]);
        await using var _ = server;
        await using var __ = client;
        var result = scanner.CreateResult();
        await scanner.ScanAsync(client, result, Cancellation);
        Assert.Equal([100, double.NaN, double.NaN], Numbers(result));
        Assert.Equal(ModbusExceptionCode.ServerDeviceBusy, result.Points[2].Error?.Code);
        Assert.Equal(2, result.RequestCount);

        source.Refused.Clear();
        await scanner.ScanAsync(client, result, Cancellation);
        Assert.Equal([100, 500, 501], Numbers(result));
        Assert.Equal(2, result.RequestCount);
    }

    /// <summary>Whatever addresses a device lacks: every point there is read, every point not there is refused, and soon nothing is asked in vain.</summary>
    [Fact]
    public async Task Whatever_is_refused_the_rest_is_read_and_the_plan_settles()
    {
        var source = new TableSource();
        await using var server = ModbusServer.Start(AnyPort, source);
        await using var client = await Clients.ToAsync(server, inFlight: 4);
        var gen = Gen.Select(Gen.Int[0, 60].HashSet[1, 25], Gen.Int[0, 62].HashSet[0, 12], Gen.Int[0, 10], Gen.Bool);
        await gen.SampleAsync(
            async (points, refused, gap, areLong) =>
            {
                source.Refused.Clear();
                foreach (var address in refused)
                {
                    source.Refused[(ushort)address] = ModbusExceptionCode.IllegalDataAddress;
                }

                var type = areLong ? RegisterType.UInt32 : RegisterType.UInt16;
                var list = points.Select(a => new ModbusPoint(ModbusTable.HoldingRegisters, (ushort)a, type)).ToArray();
                var scanner = new ModbusScanner(1, list, new ReadPlanOptions { GapAllowance = gap });
                var result = scanner.CreateResult();
                for (var scan = 0; scan < 8; scan++)
                {
                    await scanner.ScanAsync(client, result, Cancellation);
                    for (var i = 0; i < list.Length; i++)
                    {
                        int address = list[i].Address;
                        var isThere = !refused.Contains(address) && !(areLong && refused.Contains(address + 1));
                        var expected = !isThere ? double.NaN : areLong ? (address << 16) + address + 1 : address;
                        Assert.Equal(expected, result.Points[i].Value);
                        Assert.Equal(isThere, result.Points[i].Error is null);
                    }
                }

                var before = source.Asked.Count;
                await scanner.ScanAsync(client, result, Cancellation);
                Assert.All(source.Asked.Skip(before), a => Assert.DoesNotContain(refused, r => r >= a.Address && r < a.Address + a.Quantity));
            },
            threads: 1,
            iter: 200);
    }

    [Fact]
    public async Task A_lost_connection_fails_the_scan_and_the_next_connection_serves_the_same_scanner()
    {
        var source = new TableSource();
        var (scanner, client, server) = await ScannerAsync(source, [100, 300, 500]);
        await using var _ = server;
        var result = scanner.CreateResult();
        await scanner.ScanAsync(client, result, Cancellation);
        server.DropAll();
        await Assert.ThrowsAsync<ModbusConnectionException>(async () => await scanner.ScanAsync(client, result, Cancellation));
        Assert.False(client.IsConnected);
        await client.DisposeAsync();

        await using var again = await Clients.ToAsync(server);
        await scanner.ScanAsync(again, result, Cancellation);
        Assert.Equal([100, 300, 500], Numbers(result));
    }

    [Fact]
    public async Task A_time_out_fails_the_scan_with_all_its_requests_settled()
    {
        var time = new FakeTimeProvider();
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, inFlight: 4, time);
        var scanner = new ModbusScanner(1, [Word(100), Word(300), Word(500)], new ReadPlanOptions());
        var result = scanner.CreateResult();
        var scan = scanner.ScanAsync(client, result, Cancellation).AsTask();
        var requests = (await stream.WrittenAsync()).Chunk(12).ToArray();
        Assert.Equal(3, requests.Length);
        stream.Feed(Frames.Registers(Frames.Transaction(requests[1]), 1, 300));
        await stream.TakenAsync(1);
        time.Advance(Clients.Timeout);
        await Assert.ThrowsAsync<ModbusTimeoutException>(() => scan);

        // The overdue answers come during the next scan, out of place, and change nothing.
        scan = scanner.ScanAsync(client, result, Cancellation).AsTask();
        var next = (await stream.WrittenAsync()).Chunk(12).ToArray();
        stream.Feed(Frames.Registers(Frames.Transaction(requests[0]), 1, 7));
        stream.Feed(Frames.Registers(Frames.Transaction(requests[2]), 1, 7));
        foreach (var request in next.Reverse())
        {
            stream.Feed(Frames.Registers(Frames.Transaction(request), 1, (ushort)((request[8] << 8) | request[9])));
        }

        await scan;
        Assert.Equal([100, 300, 500], Numbers(result));
        Assert.Equal(2, client.LateReplies);
    }

    private static ModbusPoint Word(ushort address) => new(ModbusTable.HoldingRegisters, address, RegisterType.UInt16);

    private static double[] Numbers(ScanResult result) => [.. result.Points.ToArray().Select(p => p.Value)];

    private static async Task<(ModbusScanner, ModbusClient, ModbusServer)> ScannerAsync(TableSource source, ushort[] addresses, TimeProvider? time = null)
    {
        var server = ModbusServer.Start(AnyPort, source);
        var client = await ModbusClient.ConnectAsync(
            new ModbusClientOptions { Host = "127.0.0.1", Port = server.Endpoint.Port, Timeout = TimeSpan.FromSeconds(20), ConnectTimeout = TimeSpan.FromSeconds(20) },
            null,
            time ?? TimeProvider.System,
            Cancellation);
        return (new ModbusScanner(1, [.. addresses.Select(Word)], new ReadPlanOptions()), client, server);
    }
}
