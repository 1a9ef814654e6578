using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.EndToEnd.Tests.Modbus;

/// <summary>Our client against the servers of four other libraries.</summary>
public sealed class OurClientTests
{
    private const byte Unit = 1;

    public static TheoryData<string, int> Servers { get; } = new MatrixTheoryData<string, int>(
        [ModbusPeers.Libmodbus, ModbusPeers.Pymodbus, ModbusPeers.ModbusSerial, ModbusPeers.Jsmodbus],
        [1, 8]);

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Theory]
    [MemberData(nameof(Servers))]
    public async Task All_tables_are_read_up_to_their_limits(string library, int inFlight)
    {
        await using var peer = await ModbusPeers.ServeAsync(library);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight);
        var registers = new ushort[125];
        foreach (var table in new[] { ModbusTable.HoldingRegisters, ModbusTable.InputRegisters })
        {
            await client.ReadRegistersAsync(Unit, table, 1875, registers, Cancellation);
            Assert.Equal(Enumerable.Range(1875, 125), registers.Select(r => (int)r));
        }

        foreach (var (table, quantity) in new[] { (ModbusTable.Coils, 2000), (ModbusTable.DiscreteInputs, 1999), (ModbusTable.Coils, 1), (ModbusTable.DiscreteInputs, 17) })
        {
            var bits = new bool[quantity];
            await client.ReadBitsAsync(Unit, table, 0, bits, Cancellation);
            Assert.Equal(Enumerable.Range(0, quantity).Select(i => i % 2 == 1), bits);
        }
    }

    /// <summary>Many requests in one segment: jsmodbus answers them in reverse, others as they please.</summary>
    [Theory]
    [MemberData(nameof(Servers))]
    public async Task Pipelined_scans_give_every_point_its_own_value(string library, int inFlight)
    {
        await using var peer = await ModbusPeers.ServeAsync(library);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight);
        var points = Enumerable.Range(0, 40).SelectMany(i => new ModbusPoint[]
        {
            new(ModbusTable.HoldingRegisters, (ushort)(50 * i), RegisterType.UInt16),
            new(ModbusTable.InputRegisters, (ushort)((50 * i) + 1), RegisterType.UInt32),
            new(ModbusTable.Coils, (ushort)((50 * i) + 2), RegisterType.Bit),
            new(ModbusTable.DiscreteInputs, (ushort)((50 * i) + 3), RegisterType.Bit),
        }).ToArray();
        var scanner = new ModbusScanner(Unit, points, new ReadPlanOptions { GapAllowance = 0 });
        var result = scanner.CreateResult();
        for (var scan = 0; scan < 3; scan++)
        {
            await scanner.ScanAsync(client, result, Cancellation);
            Assert.Equal(160, result.RequestCount);
            for (var i = 0; i < points.Length; i++)
            {
                int address = points[i].Address;
                var expected = (i % 4) switch { 0 => address, 1 => (address << 16) + address + 1, 2 => 0, _ => 1 };
                Assert.Equal((expected, null), ((int)result.Points[i].Value, result.Points[i].Error));
            }
        }
    }

    [Theory]
    [InlineData(ModbusPeers.Libmodbus)]
    [InlineData(ModbusPeers.Pymodbus)]
    public async Task What_a_server_has_not_is_refused_and_the_rest_is_read(string library)
    {
        await using var peer = await ModbusPeers.ServeAsync(library);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight: 4);
        var scanner = new ModbusScanner(Unit, [Word(1990), Word(1999), Word(2001), Word(2003)], new ReadPlanOptions());
        var result = scanner.CreateResult();
        for (var scan = 0; scan < 3; scan++)
        {
            await scanner.ScanAsync(client, result, Cancellation);
            Assert.Equal([1990, 1999, double.NaN, double.NaN], result.Points.ToArray().Select(p => p.Value));
            Assert.Equal(ModbusExceptionCode.IllegalDataAddress, result.Points[3].Error?.Code);
        }

        Assert.Equal(1, result.RequestCount);
    }

    [Fact]
    public async Task The_identification_of_pymodbus_is_read()
    {
        await using var peer = await ModbusPeers.ServeAsync(ModbusPeers.Pymodbus);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight: 1);
        var identification = await client.ReadDeviceIdentificationAsync(Unit, cancellation: Cancellation);
        Assert.Equal(new Dictionary<byte, string> { [0] = "Test peer", [1] = "TP", [2] = "1.2" }, identification.Objects.ToDictionary());
    }

    /// <summary>libmodbus answers an unknown function after half a second and throws away the requests that came with it.</summary>
    [Fact]
    public async Task Requests_that_libmodbus_discards_time_out_and_the_connection_goes_on()
    {
        var time = new FakeTimeProvider();
        await using var peer = await ModbusPeers.ServeAsync(ModbusPeers.Libmodbus);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight: 4, time);
        var register = new ushort[1];
        var identification = client.ReadDeviceIdentificationAsync(Unit, cancellation: Cancellation);
        var behind = new[] { client.ReadRegistersAsync(Unit, ModbusTable.HoldingRegisters, 5, register, Cancellation).AsTask() };
        var refusal = await Assert.ThrowsAsync<ModbusDeviceException>(() => identification);
        Assert.Equal(ModbusExceptionCode.IllegalFunction, refusal.Code);
        time.Advance(client.Options.Timeout);
        await Assert.ThrowsAsync<ModbusTimeoutException>(() => behind[0]);

        await client.ReadRegistersAsync(Unit, ModbusTable.HoldingRegisters, 6, register, Cancellation);
        Assert.Equal(6, register[0]);
    }

    /// <summary>modbus-serial says nothing to a unit that is not its own.</summary>
    [Fact]
    public async Task A_unit_to_which_modbus_serial_is_silent_times_out_and_its_own_unit_goes_on()
    {
        var time = new FakeTimeProvider();
        await using var peer = await ModbusPeers.ServeAsync(ModbusPeers.ModbusSerial);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight: 1, time);
        var register = new ushort[1];
        var foreign = client.ReadRegistersAsync(9, ModbusTable.HoldingRegisters, 5, register, Cancellation).AsTask();
        time.Advance(client.Options.Timeout);
        await Assert.ThrowsAsync<ModbusTimeoutException>(() => foreign);
        await client.ReadRegistersAsync(Unit, ModbusTable.HoldingRegisters, 6, register, Cancellation);
        Assert.Equal(6, register[0]);
    }

    /// <summary>jsmodbus puts the MEI type before the exception code, which makes three bytes of two.</summary>
    [Fact]
    public async Task The_identification_that_jsmodbus_refuses_in_its_own_way_is_refused_and_reads_go_on()
    {
        await using var peer = await ModbusPeers.ServeAsync(ModbusPeers.Jsmodbus);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight: 1);
        var refusal = await Assert.ThrowsAsync<ModbusDeviceException>(() => client.ReadDeviceIdentificationAsync(Unit, cancellation: Cancellation));
        Assert.Equal(ModbusExceptionCode.IllegalFunction, refusal.Code);
        var register = new ushort[1];
        await client.ReadRegistersAsync(Unit, ModbusTable.HoldingRegisters, 6, register, Cancellation);
        Assert.Equal(6, register[0]);
    }

    /// <summary>At the end of its registers jsmodbus answers with fewer than asked for, instead of refusing.</summary>
    [Fact]
    public async Task An_answer_of_jsmodbus_that_is_too_short_is_not_taken()
    {
        await using var peer = await ModbusPeers.ServeAsync(ModbusPeers.Jsmodbus);
        await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight: 1);
        ushort[] registers = [9, 9, 9];
        var broken = await Assert.ThrowsAsync<ModbusProtocolException>(async () => await client.ReadRegistersAsync(Unit, ModbusTable.HoldingRegisters, 1998, registers, Cancellation));
        Assert.Contains("byte count 4 instead of 6", broken.Message, StringComparison.Ordinal);
        Assert.Equal([9, 9, 9], registers);
    }

    [Theory]
    [InlineData(ModbusPeers.Libmodbus)]
    [InlineData(ModbusPeers.Pymodbus)]
    [InlineData(ModbusPeers.ModbusSerial)]
    [InlineData(ModbusPeers.Jsmodbus)]
    public async Task A_server_that_is_killed_fails_the_read_and_its_successor_is_read(string library)
    {
        var register = new ushort[1];
        var scanner = new ModbusScanner(Unit, [Word(7)], new ReadPlanOptions());
        var result = scanner.CreateResult();
        await using (var peer = await ModbusPeers.ServeAsync(library))
        {
            await using var client = await ModbusPeers.ConnectAsync(peer.Port, inFlight: 1);
            await scanner.ScanAsync(client, result, Cancellation);
            await peer.KillAsync();
            var lost = await Assert.ThrowsAsync<ModbusConnectionException>(async () => await scanner.ScanAsync(client, result, Cancellation));
            Assert.True(lost.IsTransient);
        }

        await using var next = await ModbusPeers.ServeAsync(library);
        await using var again = await ModbusPeers.ConnectAsync(next.Port, inFlight: 1);
        await scanner.ScanAsync(again, result, Cancellation);
        Assert.Equal(7, result.Points[0].Value);
    }

    /// <summary>A real server behind a line that delivers its answers byte by byte, or many of them at once.</summary>
    [Theory]
    [InlineData(ModbusPeers.Libmodbus, 1)]
    [InlineData(ModbusPeers.Libmodbus, 3)]
    [InlineData(ModbusPeers.Jsmodbus, 1)]
    [InlineData(ModbusPeers.Jsmodbus, 1000)]
    public async Task Answers_that_arrive_in_pieces_are_put_together(string library, int pieceSize)
    {
        await using var peer = await ModbusPeers.ServeAsync(library);
        await using var line = new ChoppingLine(peer.Port, pieceSize);
        await using var client = await ModbusPeers.ConnectAsync(line.Port, inFlight: 4);
        var points = Enumerable.Range(0, 20).Select(i => Word((ushort)(90 * i))).ToArray();
        var scanner = new ModbusScanner(Unit, points, new ReadPlanOptions());
        var result = scanner.CreateResult();
        await scanner.ScanAsync(client, result, Cancellation);
        Assert.Equal(points.Select(p => (double)p.Address), result.Points.ToArray().Select(p => p.Value));
    }

    private static ModbusPoint Word(ushort address) => new(ModbusTable.HoldingRegisters, address, RegisterType.UInt16);
}
