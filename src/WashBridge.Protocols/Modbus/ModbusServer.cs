using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;

namespace WashBridge.Protocols.Modbus;

/// <summary>
/// A Modbus TCP server that can be read and nothing else: functions 01 to 04 and 43/14, exception 01 for every other.
/// Requests that a client pipelines are answered in order; what it has not been sent yet waits in its own socket.
/// </summary>
public sealed partial class ModbusServer : IAsyncDisposable
{
    private readonly Lock gate = new();
    private readonly HashSet<ServerConnection> connections = [];
    private readonly CancellationTokenSource stop = new();
    private readonly Socket listener;
    private readonly IModbusDataSource source;
    private readonly ModbusServerOptions options;
    private readonly ILogger logger;
    private readonly TimeProvider time;
    private readonly Task accepting;
    private readonly ITimer sweep;
    private bool isDisposed;

    private ModbusServer(IPEndPoint endpoint, IModbusDataSource source, ModbusServerOptions options, ILogger logger, TimeProvider time)
    {
        this.source = source;
        this.options = options;
        this.logger = logger;
        this.time = time;
        listener = new Socket(endpoint.AddressFamily, SocketType.Stream, ProtocolType.Tcp);
        try
        {
            listener.Bind(endpoint);
            listener.Listen(options.MaxConnections);
        }
        catch
        {
            listener.Dispose();
            throw;
        }

        Endpoint = (IPEndPoint)listener.LocalEndPoint!;
        accepting = AcceptAsync();
        var period = options.IdleTimeout / 4;
        sweep = time.CreateTimer(static server => ((ModbusServer)server!).CloseIdle(), this, period, period);
    }

    /// <summary>Where it listens, with the port that was chosen if 0 was asked for.</summary>
    public IPEndPoint Endpoint { get; }

    /// <summary>Connections now.</summary>
    public int ConnectionCount
    {
        get
        {
            lock (gate)
            {
                return connections.Count;
            }
        }
    }

    /// <exception cref="SocketException">The address is in use or not this machine's.</exception>
    public static ModbusServer Start(
        IPEndPoint endpoint,
        IModbusDataSource source,
        ModbusServerOptions? options = null,
        ILogger? logger = null,
        TimeProvider? time = null)
    {
        ArgumentNullException.ThrowIfNull(endpoint);
        ArgumentNullException.ThrowIfNull(source);
        options ??= new ModbusServerOptions();
        options.Validate();
        return new ModbusServer(endpoint, source, options, logger ?? NullLogger.Instance, time ?? TimeProvider.System);
    }

    /// <summary>Closes the listener and all connections, and waits until nothing of them runs any more.</summary>
    public async ValueTask DisposeAsync()
    {
        Task[] running;
        lock (gate)
        {
            if (isDisposed)
            {
                return;
            }

            isDisposed = true;
            running = [.. connections.Select(c => c.Running)];
        }

        await stop.CancelAsync();
        listener.Dispose();
        DropAll();
        await accepting;
        await Task.WhenAll(running);
        await sweep.DisposeAsync();
        stop.Dispose();
    }

    /// <summary>Closes every connection and keeps listening: what a client sees of a pulled cable or a restart.</summary>
    public void DropAll()
    {
        lock (gate)
        {
            foreach (var connection in connections)
            {
                connection.Close("the server was told to drop it");
            }
        }
    }

    private async Task AcceptAsync()
    {
        while (!stop.IsCancellationRequested)
        {
            Socket accepted;
            try
            {
                accepted = await listener.AcceptAsync(stop.Token);
            }
            catch (Exception e) when (e is OperationCanceledException or ObjectDisposedException)
            {
                return;
            }
            catch (SocketException e)
            {
                // The client gave up before it was accepted, or descriptors ran out: neither may end the server.
                Log.AcceptFailed(logger, e.Message);
                await Task.Delay(TimeSpan.FromMilliseconds(10), time, stop.Token).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
                continue;
            }

            Serve(accepted);
        }
    }

    private void Serve(Socket accepted)
    {
        lock (gate)
        {
            if (isDisposed || connections.Count == options.MaxConnections)
            {
                Log.TooMany(logger, options.MaxConnections);
                accepted.Dispose();
                return;
            }

            accepted.NoDelay = true;
            var connection = new ServerConnection(accepted, new RequestHandler(source, logger), options.ReplyDelay, time, stop.Token);
            connections.Add(connection);
            connection.Start(Ended);
        }
    }

    private void Ended(ServerConnection connection)
    {
        lock (gate)
        {
            connections.Remove(connection);
        }

        Log.Ended(logger, connection.Peer, connection.Reason);
    }

    private void CloseIdle()
    {
        lock (gate)
        {
            foreach (var connection in connections)
            {
                if (time.GetElapsedTime(connection.LastRequest) >= options.IdleTimeout)
                {
                    connection.Close("idle for too long");
                }
            }
        }
    }

    private static partial class Log
    {
        [LoggerMessage(1152, LogLevel.Warning, "Modbus server: accepting a connection failed: {Reason}")]
        public static partial void AcceptFailed(ILogger logger, string reason);

        [LoggerMessage(1153, LogLevel.Warning, "Modbus server: refused a connection beyond {Limit}")]
        public static partial void TooMany(ILogger logger, int limit);

        [LoggerMessage(1154, LogLevel.Debug, "Modbus server: connection from {Peer} ended: {Reason}")]
        public static partial void Ended(ILogger logger, string peer, string reason);
    }
}
