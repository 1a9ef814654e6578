using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>The client on real sockets, where it may receive on the thread of the caller.</summary>
public sealed class ClientOverSocketsTests
{
    private static readonly IPEndPoint AnyPort = new(IPAddress.Loopback, 0);

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    [Fact]
    public async Task As_many_callers_as_agreed_read_at_once_and_each_gets_its_own()
    {
        await using var server = ModbusServer.Start(AnyPort, new TableSource());
        await using var client = await Clients.ToAsync(server, inFlight: 8);
        var callers = Enumerable.Range(0, 8).Select(caller => Task.Run(
            async () =>
            {
                var registers = new ushort[100];
                var bits = new bool[33];
                for (var i = 0; i < 500; i++)
                {
                    var address = (ushort)((caller * 1000) + i);
                    await client.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, address, registers, Cancellation);
                    Assert.Equal(Enumerable.Range(address, 100), registers.Select(r => (int)r));
                    await client.ReadBitsAsync((byte)caller, ModbusTable.Coils, address, bits, Cancellation);
                    Assert.Equal(address % 2 == 1, bits[0]);
                }
            },
            Cancellation));
        await Task.WhenAll(callers);
        Assert.Equal((0, 0), (client.LateReplies, client.StrayReplies));
    }

    [Fact]
    public async Task A_host_that_refuses_is_a_transient_failure_that_names_it()
    {
        using var reserved = new Socket(SocketType.Stream, ProtocolType.Tcp);
        reserved.Bind(AnyPort);
        var port = ((IPEndPoint)reserved.LocalEndPoint!).Port;
        var options = new ModbusClientOptions { Host = "127.0.0.1", Port = port };
        var refused = await Assert.ThrowsAsync<ModbusConnectionException>(() => ModbusClient.ConnectAsync(options, null, TimeProvider.System, Cancellation));
        Assert.True(refused.IsTransient);
        Assert.Contains($"127.0.0.1:{port}", refused.Message, StringComparison.Ordinal);
    }

    /// <summary>A listener with a full queue never answers: the wait ends when the time allowed does.</summary>
    [Fact]
    public async Task A_host_that_does_not_answer_is_given_up_in_time()
    {
        using var listener = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp);
        listener.Bind(AnyPort);
        listener.Listen(0);
        var endpoint = (IPEndPoint)listener.LocalEndPoint!;
        var fill = Enumerable.Range(0, 4).Select(_ => new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp)).ToList();
        try
        {
            fill.ForEach(s => _ = s.ConnectAsync(endpoint));
            var time = new FakeTimeProvider();
            var options = new ModbusClientOptions { Host = "127.0.0.1", Port = endpoint.Port, ConnectTimeout = TimeSpan.FromSeconds(3) };
            var connecting = ModbusClient.ConnectAsync(options, null, time, Cancellation);
            time.Advance(TimeSpan.FromSeconds(3));
            var refused = await Assert.ThrowsAsync<ModbusConnectionException>(() => connecting);
            Assert.Contains("no answer within 3000 ms", refused.Message, StringComparison.Ordinal);
        }
        finally
        {
            fill.ForEach(s => s.Dispose());
        }
    }

    [Fact]
    public async Task A_reset_connection_fails_the_read_and_is_known_to_be_lost()
    {
        using var listener = new TcpListener(AnyPort);
        listener.Start();
        var options = new ModbusClientOptions { Host = "127.0.0.1", Port = ((IPEndPoint)listener.LocalEndpoint).Port, Timeout = TimeSpan.FromSeconds(20) };
        await using var client = await ModbusClient.ConnectAsync(options, null, TimeProvider.System, Cancellation);
        using var accepted = await listener.AcceptSocketAsync(Cancellation);
        var read = client.AskRegisters(1, ModbusTable.HoldingRegisters, 0, new ushort[1]);
        await accepted.ReceiveAsync(new byte[12], Cancellation);
        accepted.LingerState = new LingerOption(enable: true, seconds: 0);
        accepted.Close();
        await Assert.ThrowsAsync<ModbusConnectionException>(() => read);
        Assert.False(client.IsConnected);
    }
}
