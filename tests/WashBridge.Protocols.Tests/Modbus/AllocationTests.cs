using System.Net;
using System.Net.Sockets;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>Counts the bytes of the whole process, so nothing else may run meanwhile.</summary>
[CollectionDefinition(nameof(Alone), DisableParallelization = true)]
public sealed class Alone;

/// <summary>What a request costs in memory.</summary>
[Collection(nameof(Alone))]
public sealed class AllocationTests
{
    /// <summary>Warm, it must not cost memory to ask: 20 washers would ask hundreds of times a second for years.</summary>
    [Theory]
    [InlineData(1, true)]
    [InlineData(4, true)]
    [InlineData(1, false)]
    [InlineData(4, false)]
    public async Task Requests_allocate_nothing_once_warm(int inFlight, bool mayReceiveOnTheCallersThread)
    {
        using var peer = new RegisterPeer();
        await using var client = await peer.ConnectAsync(inFlight, mayReceiveOnTheCallersThread);
        var buffers = Enumerable.Range(0, inFlight).Select(_ => new ushort[100]).ToArray();
        var pending = new ValueTask<ModbusTiming>[inFlight];
        using var cancellation = new CancellationTokenSource();
        await ReadAsync(2000);
        var least = long.MaxValue;
        for (var attempt = 0; attempt < 5; attempt++)
        {
            // Whatever else runs in this process allocates too: the best of a few attempts is the client's own.
            var before = GC.GetTotalAllocatedBytes(precise: true);
            await ReadAsync(1000);
            least = Math.Min(least, GC.GetTotalAllocatedBytes(precise: true) - before);
        }

        Assert.InRange(least, 0, 8 * 1000);

        async Task ReadAsync(int requests)
        {
            for (var i = 0; i < requests; i++)
            {
                for (var j = 0; j < inFlight; j++)
                {
#pragma warning disable CA2012 // Each is awaited once, below.
                    pending[j] = client.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 0, buffers[j], cancellation.Token);
#pragma warning restore CA2012
                }

                for (var j = 0; j < inFlight; j++)
                {
                    await pending[j];
                }
            }
        }
    }

    /// <summary>A peer on a thread of its own that allocates nothing: it answers every request with 100 registers.</summary>
    private sealed class RegisterPeer : IDisposable
    {
        private readonly Socket listener = new(SocketType.Stream, ProtocolType.Tcp);

        public RegisterPeer()
        {
            listener.Bind(new IPEndPoint(IPAddress.Loopback, 0));
            listener.Listen(1);
            new Thread(Serve) { IsBackground = true }.Start();
        }

        public async Task<ModbusClient> ConnectAsync(int inFlight, bool mayReceiveOnTheCallersThread)
        {
            var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
            await socket.ConnectAsync(listener.LocalEndPoint!, TestContext.Current.CancellationToken);
            var options = new ModbusClientOptions { Host = "127.0.0.1", InFlight = inFlight, Timeout = TimeSpan.FromSeconds(20) };
            return new ModbusClient(new NetworkStream(socket, ownsSocket: true), mayReceiveOnTheCallersThread ? socket : null, options, null, TimeProvider.System);
        }

        public void Dispose() => listener.Dispose();

        private void Serve()
        {
            var request = new byte[12];
            var answer = Frames.Registers(0, 1, new ushort[100]);
            try
            {
                using var accepted = listener.Accept();
                accepted.NoDelay = true;
                while (Fill(accepted, request))
                {
                    request.AsSpan(0, 2).CopyTo(answer);
                    accepted.Send(answer);
                }
            }
            catch (SocketException)
            {
                // The test is over.
            }
        }

        private static bool Fill(Socket socket, byte[] buffer)
        {
            for (var received = 0; received < buffer.Length;)
            {
                var piece = socket.Receive(buffer.AsSpan(received));
                if (piece == 0)
                {
                    return false;
                }

                received += piece;
            }

            return true;
        }
    }
}
