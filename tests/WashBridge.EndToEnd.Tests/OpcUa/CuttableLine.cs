using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>
/// A line to a server on loopback that can be cut, as if a cable were pulled: connections stay open and new ones are accepted, but no byte gets
/// through. Once mended, what was sent meanwhile arrives late, as after retransmission.
/// </summary>
internal sealed class CuttableLine : IAsyncDisposable
{
    private readonly TcpListener listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource stop = new();
    private readonly ConcurrentBag<Task> lines = [];
    private readonly int serverPort;
    private readonly Task accepting;
    private volatile TaskCompletionSource whole = Whole();

    public CuttableLine(int serverPort)
    {
        this.serverPort = serverPort;
        listener.Start();
        accepting = AcceptAsync();
    }

    public int Port => ((IPEndPoint)listener.LocalEndpoint).Port;

    public void Cut() => whole = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);

    public void Mend() => whole.TrySetResult();

    public async ValueTask DisposeAsync()
    {
        await stop.CancelAsync();
        listener.Stop();
        await accepting;
        await Task.WhenAll(lines);
        listener.Dispose();
        stop.Dispose();
    }

    private static TaskCompletionSource Whole()
    {
        var source = new TaskCompletionSource();
        source.SetResult();
        return source;
    }

    private async Task AcceptAsync()
    {
        try
        {
            while (true)
            {
                lines.Add(JoinAsync(await listener.AcceptSocketAsync(stop.Token)));
            }
        }
        catch (Exception e) when (e is OperationCanceledException or SocketException or ObjectDisposedException)
        {
            // The test is over.
        }
    }

    private async Task JoinAsync(Socket client)
    {
        using (client)
        using (var server = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true })
        {
            client.NoDelay = true;
            try
            {
                await server.ConnectAsync(IPAddress.Loopback, serverPort, stop.Token);
                await Task.WhenAny(CopyAsync(client, server), CopyAsync(server, client));
            }
            catch (Exception e) when (e is OperationCanceledException or SocketException)
            {
                // One side has gone, or the test is over: both sockets close.
            }
        }
    }

    private async Task CopyAsync(Socket from, Socket to)
    {
        var buffer = new byte[65_536];
        int count;
        while ((count = await from.ReceiveAsync(buffer.AsMemory(), stop.Token)) > 0)
        {
            await whole.Task.WaitAsync(stop.Token);
            await to.SendAsync(buffer.AsMemory(0, count), stop.Token);
        }

        await whole.Task.WaitAsync(stop.Token);
    }
}
