using System.Net;
using System.Net.Sockets;

namespace WashBridge.EndToEnd.Tests.Modbus;

/// <summary>A line to a server on loopback that hands on what the server says in pieces of a given size.</summary>
internal sealed class ChoppingLine : IAsyncDisposable
{
    private readonly TcpListener listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource stop = new();
    private readonly Task running;

    public ChoppingLine(int serverPort, int pieceSize)
    {
        listener.Start(1);
        running = RunAsync(serverPort, pieceSize);
    }

    public int Port => ((IPEndPoint)listener.LocalEndpoint).Port;

    public async ValueTask DisposeAsync()
    {
        await stop.CancelAsync();
        listener.Stop();
        await running;
        listener.Dispose();
        stop.Dispose();
    }

    private async Task RunAsync(int serverPort, int pieceSize)
    {
        try
        {
            using var client = await listener.AcceptSocketAsync(stop.Token);
            using var server = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
            client.NoDelay = true;
            await server.ConnectAsync(IPAddress.Loopback, serverPort, stop.Token);
            await Task.WhenAny(CopyAsync(client, server, 4096), CopyAsync(server, client, pieceSize));
        }
        catch (Exception e) when (e is OperationCanceledException or SocketException)
        {
            // The test is over, or one side has gone: both sockets close.
        }
    }

    private async Task CopyAsync(Socket from, Socket to, int pieceSize)
    {
        var buffer = new byte[4096];
        int count;
        while ((count = await from.ReceiveAsync(buffer.AsMemory(), stop.Token)) > 0)
        {
            for (var at = 0; at < count; at += pieceSize)
            {
                await to.SendAsync(buffer.AsMemory(at, Math.Min(pieceSize, count - at)), stop.Token);
            }
        }
    }
}
