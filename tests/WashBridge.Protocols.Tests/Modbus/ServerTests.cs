using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>Our server seen by clients that behave, and by some that do not.</summary>
public sealed class ServerTests
{
    private static readonly IPEndPoint AnyPort = new(IPAddress.Loopback, 0);

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Fact]
    public async Task All_four_tables_are_served_up_to_their_limits()
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource());
        await using var client = await Clients.ToAsync(server);
        var registers = new ushort[125];
        var bits = new bool[2000];
        foreach (var table in new[] { ModbusTable.HoldingRegisters, ModbusTable.InputRegisters })
        {
            await client.ReadRegistersAsync(7, table, 65411, registers, Cancellation);
            Assert.Equal(Enumerable.Range(65411, 125), registers.Select(r => (int)r));
        }

        foreach (var table in new[] { ModbusTable.Coils, ModbusTable.DiscreteInputs })
        {
            await client.ReadBitsAsync(7, table, 63536, bits, Cancellation);
            Assert.Equal(Enumerable.Range(0, 2000).Select(i => i % 2 == 1), bits);
        }
    }

    /// <summary>V1.1b3, figures 11 to 15: the quantity is judged before the address.</summary>
    [Theory]
    [InlineData("03 FF FF 00 7E", "83 03")]
    [InlineData("03 FF FF 00 00", "83 03")]
    [InlineData("03 FF FF 00 02", "83 02")]
    [InlineData("04 FF 84 00 7D", "84 02")]
    [InlineData("01 FF FF 07 D1", "81 03")]
    [InlineData("02 FF FF 00 02", "82 02")]
    [InlineData("03 00 00 00", "83 03")]
    [InlineData("03 00 00 00 01 00", "83 03")]
    [InlineData("2B 0D 00", "AB 01")]
    [InlineData("2B 0E 05 00", "AB 03")]
    [InlineData("2B 0E 04 09", "AB 02")]
    [InlineData("63", "E3 01")]
    public async Task A_bad_request_gets_the_exception_that_the_specification_names(string request, string reply)
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource { Identity = { [0] = "ours" } });
        using var peer = await ConnectAsync(server);
        await peer.SendAsync(Hex.Bytes(Frames.Of(5, 9, request)), Cancellation);
        Assert.Equal(Frames.Of(5, 9, reply), Hex.Text(await ReceiveAsync(peer, 9)));
    }

    [Fact]
    public async Task Every_function_but_the_five_that_read_is_illegal()
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource { Identity = { [0] = "ours" } });
        using var peer = await ConnectAsync(server);
        for (var function = 0; function < 128; function++)
        {
            if (function is >= 1 and <= 4 or DeviceIdentificationPdu.Function)
            {
                continue;
            }

            await peer.SendAsync(Frames.Bytes(1, 1, [(byte)function, 0, 0, 0, 1]), Cancellation);
            Assert.Equal(Frames.Of(1, 1, $"{function | 0x80:X2} 01"), Hex.Text(await ReceiveAsync(peer, 9)));
        }
    }

    /// <summary>Two requests, whole and in one piece, cut at every byte, and byte by byte: always the same two answers.</summary>
    [Fact]
    public async Task However_requests_are_cut_the_answers_are_the_same()
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource());
        var requests = Hex.Bytes(Frames.Of(1, 1, "03 00 05 00 02") + Frames.Of(2, 255, "01 00 01 00 03"));
        var expected = Frames.Of(1, 1, "03 04 00 05 00 06") + " " + Frames.Of(2, 255, "01 01 05");
        for (var cut = 0; cut < requests.Length; cut++)
        {
            using var peer = await ConnectAsync(server);
            await peer.SendAsync(requests.AsMemory(0, cut), Cancellation);
            await peer.SendAsync(requests.AsMemory(cut), Cancellation);
            Assert.Equal(expected, Hex.Text(await ReceiveAsync(peer, Hex.Bytes(expected).Length)));
        }

        using var slow = await ConnectAsync(server);
        foreach (var one in requests)
        {
            await slow.SendAsync(new[] { one }, Cancellation);
        }

        Assert.Equal(expected, Hex.Text(await ReceiveAsync(slow, Hex.Bytes(expected).Length)));
    }

    [Fact]
    public async Task Many_pipelined_requests_are_answered_in_order_without_loss()
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource());
        using var peer = await ConnectAsync(server);
        const int Count = 500;
        var all = Enumerable.Range(0, Count).SelectMany(i => Hex.Bytes(Frames.Of((ushort)i, 1, $"03 00 {i % 256:X2} 00 7D"))).ToArray();
        var sending = peer.SendAsync(all, Cancellation).AsTask();
        for (var i = 0; i < Count; i++)
        {
            var answer = await ReceiveAsync(peer, 9 + 250);
            Assert.Equal(i, Frames.Transaction(answer));
            Assert.Equal(i % 256, answer[10]);
        }

        await sending;
    }

    [Theory]
    [InlineData("00 01 00 01 00 06 01 03 00 00 00 01")]
    [InlineData("00 01 00 00 00 00 01")]
    [InlineData("00 01 00 00 00 01 01 03")]
    [InlineData("00 01 00 00 00 FF 01 03")]
    [InlineData("00 01 00 00 FF FF 01 03")]
    [InlineData("47 45 54 20 2F 20 48 54 54 50")]
    public async Task A_stream_that_is_no_Modbus_is_closed(string garbage)
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource());
        using var peer = await ConnectAsync(server);
        await peer.SendAsync(Hex.Bytes(garbage), Cancellation);
        Assert.Equal(0, await ReceiveOrResetAsync(peer));
    }

    [Fact]
    public async Task A_request_before_the_garbage_is_still_answered()
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource());
        using var peer = await ConnectAsync(server);
        await peer.SendAsync(Hex.Bytes(Frames.Of(1, 1, "03 00 05 00 01") + "00 02 00 07"), Cancellation);
        Assert.Equal(Frames.Of(1, 1, "03 02 00 05"), Hex.Text(await ReceiveAsync(peer, 11)));
        Assert.Equal(0, await ReceiveOrResetAsync(peer));
    }

    [Fact]
    public async Task A_source_that_throws_is_a_device_failure_and_the_connection_lives()
    {
        var fail = true;
        var source = new TableSource { BeforeRead = () => _ = fail ? throw new InvalidOperationException("broken on purpose") : 0 };
        await using var server = ModbusServer.Start(AnyPort, source);
        await using var client = await Clients.ToAsync(server);
        var registers = new ushort[1];
        var refusal = await Assert.ThrowsAsync<ModbusDeviceException>(async () => await client.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 3, registers, Cancellation));
        Assert.Equal(ModbusExceptionCode.ServerDeviceFailure, refusal.Code);
        fail = false;
        await client.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 3, registers, Cancellation);
        Assert.Equal(3, registers[0]);
    }

    [Fact]
    public async Task A_connection_beyond_the_limit_is_closed_and_the_others_go_on()
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource(), new ModbusServerOptions { MaxConnections = 2 });
        await using var first = await Clients.ToAsync(server);
        await using var second = await Clients.ToAsync(server);
        var registers = new ushort[1];
        await first.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 3, registers, Cancellation);
        await second.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 3, registers, Cancellation);
        using var third = await ConnectAsync(server);
        Assert.Equal(0, await ReceiveOrResetAsync(third));
        await first.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 4, registers, Cancellation);
        Assert.Equal(4, registers[0]);
    }

    [Fact]
    public async Task A_silent_connection_is_closed_after_the_idle_time()
    {
        var time = new FakeTimeProvider();
        await using var server = ModbusServer.Start(AnyPort, new TableSource(), new ModbusServerOptions { IdleTimeout = TimeSpan.FromSeconds(8) }, null, time);
        using var peer = await ConnectAsync(server);
        await peer.SendAsync(Hex.Bytes(Frames.Of(1, 1, "03 00 05 00 01")), Cancellation);
        await ReceiveAsync(peer, 11);
        time.Advance(TimeSpan.FromSeconds(7));
        await peer.SendAsync(Hex.Bytes(Frames.Of(2, 1, "03 00 05 00 01")), Cancellation);
        await ReceiveAsync(peer, 11);
        time.Advance(TimeSpan.FromSeconds(7));
        Assert.Equal(1, server.ConnectionCount);

        // Half a request is no sign of life.
        await peer.SendAsync(new byte[3], Cancellation);
        time.Advance(TimeSpan.FromSeconds(4));
        Assert.Equal(0, await ReceiveOrResetAsync(peer));
    }

    [Fact]
    public async Task Stopping_ends_every_connection_and_frees_the_port()
    {
        var server = ModbusServer.Start(AnyPort, new TableSource());
        var endpoint = server.Endpoint;
        using var peer = await ConnectAsync(server);
        await peer.SendAsync(Hex.Bytes(Frames.Of(1, 1, "03 00 05 00 01")), Cancellation);
        await ReceiveAsync(peer, 11);
        await server.DisposeAsync();
        Assert.Equal(0, await ReceiveOrResetAsync(peer));
        Assert.Equal(0, server.ConnectionCount);
        await server.DisposeAsync();

        // The side that closes first keeps the address for a while: only a listener is of interest here.
        using var late = new Socket(SocketType.Stream, ProtocolType.Tcp);
        await Assert.ThrowsAsync<SocketException>(async () => await late.ConnectAsync(endpoint, Cancellation));
    }

    [Fact]
    public async Task A_long_identification_comes_in_several_replies()
    {
        var source = new TableSource();
        for (byte id = 0; id < 7; id++)
        {
            source.Identity[id] = new string((char)('a' + id), 100);
        }

        source.Identity[0x80] = "private";
        await using var server = ModbusServer.Start(AnyPort, source);
        await using var client = await Clients.ToAsync(server);
        var basic = await client.ReadDeviceIdentificationAsync(1, DeviceIdentificationLevel.Basic, Cancellation);
        var regular = await client.ReadDeviceIdentificationAsync(1, DeviceIdentificationLevel.Regular, Cancellation);
        var extended = await client.ReadDeviceIdentificationAsync(1, DeviceIdentificationLevel.Extended, Cancellation);
        Assert.Equal(source.Identity.Where(o => o.Key <= 2).Order(ByKey), basic.Objects);
        Assert.Equal(source.Identity.Where(o => o.Key <= 6).Order(ByKey), regular.Objects);
        Assert.Equal(source.Identity.Order(ByKey), extended.Objects);
        Assert.Equal(0x83, extended.ConformityLevel);
    }

    private static Comparer<KeyValuePair<byte, string>> ByKey { get; } = Comparer<KeyValuePair<byte, string>>.Create((a, b) => a.Key.CompareTo(b.Key));

    private static async Task<Socket> ConnectAsync(ModbusServer server)
    {
        var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        await socket.ConnectAsync(server.Endpoint, Cancellation);
        return socket;
    }

    private static async Task<byte[]> ReceiveAsync(Socket socket, int count)
    {
        var bytes = new byte[count];
        for (var received = 0; received < count;)
        {
            var piece = await socket.ReceiveAsync(bytes.AsMemory(received), Cancellation);
            Assert.NotEqual(0, piece);
            received += piece;
        }

        return bytes;
    }

    /// <summary>0 when the peer closed, cleanly or (as unread bytes make it) not.</summary>
    private static async Task<int> ReceiveOrResetAsync(Socket socket)
    {
        try
        {
            return await socket.ReceiveAsync(new byte[16], Cancellation);
        }
        catch (SocketException)
        {
            return 0;
        }
    }
}
