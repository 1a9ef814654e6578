using System.Net.Sockets;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;

namespace WashBridge.Protocols.Modbus;

/// <summary>
/// One connection to a Modbus TCP device, for reading only. May be used by several callers at once, as long as no more
/// than <see cref="ModbusClientOptions.InFlight"/> requests are on their way. It does not reconnect: once it is broken,
/// every call fails with <see cref="ModbusConnectionException"/> and the first cause.
/// </summary>
/// <remarks>Await each returned task exactly once. Until then the destination belongs to the client.</remarks>
public sealed partial class ModbusClient : IAsyncDisposable
{
    /// <summary>Implementation guide V1.0b, 4.4.1.3: 1 to 16 transactions.</summary>
    public const int MaxInFlight = 16;

    private readonly Lock gate = new();
    private readonly Stream stream;
    private readonly Socket? socket;
    private readonly ModbusClientOptions options;
    private readonly ILogger logger;
    private readonly TimeProvider time;

    /// <summary>Why there is no connection any more; the first cause is kept.</summary>
    private ModbusException? broken;

    /// <param name="stream">Owned by the client.</param>
    /// <param name="socket">What lies under the stream, where it is worth asking it for data that is about to come.</param>
    internal ModbusClient(Stream stream, Socket? socket, ModbusClientOptions options, ILogger? logger, TimeProvider time)
    {
        options.Validate();
        this.stream = stream;
        this.socket = socket;
        this.options = options;
        this.logger = logger ?? NullLogger.Instance;
        this.time = time;
        active = new PendingRead[options.InFlight];
        onSent = ContinueSending;
        onReceived = ContinueReceiving;
        timeoutTicks = (long)(options.Timeout.TotalSeconds * time.TimestampFrequency);
        lateTicks = (long)(options.LateReplyWindow.TotalSeconds * time.TimestampFrequency);
        soonTicks = time.TimestampFrequency / 1000;
        timer = time.CreateTimer(static client => ((ModbusClient)client!).Expire(), this, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
    }

    public ModbusClientOptions Options => options;

    /// <summary>The clock of every <see cref="ModbusTiming"/>.</summary>
    public TimeProvider Time => time;

    /// <summary>False once the connection is lost or was closed.</summary>
    public bool IsConnected
    {
        get
        {
            lock (gate)
            {
                return broken is null;
            }
        }
    }

    /// <summary>Answers that came after their request had timed out, and were dropped.</summary>
    public long LateReplies { get; private set; }

    /// <summary>Answers to transactions that nobody asked for, dropped as the implementation guide says (V1.0b, 4.4.1.4).</summary>
    public long StrayReplies { get; private set; }

    /// <exception cref="ModbusConnectionException">The device cannot be reached within the time allowed.</exception>
    public static async Task<ModbusClient> ConnectAsync(ModbusClientOptions options, ILogger? logger, TimeProvider time, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(time);
        options.Validate();
        using var tooLate = new CancellationTokenSource(options.ConnectTimeout, time);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(tooLate.Token, cancellation);
        var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        try
        {
            await ConnectAsync(socket, options, stop.Token);
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException or OperationCanceledException)
        {
            socket.Dispose();
            cancellation.ThrowIfCancellationRequested();
            var reason = tooLate.IsCancellationRequested ? $"no answer within {options.ConnectTimeout.TotalMilliseconds:0} ms" : e.Message;
            throw new ModbusConnectionException($"cannot connect to {options.Host}:{options.Port}: {reason}", e);
        }

        var client = new ModbusClient(new NetworkStream(socket, ownsSocket: true), socket, options, logger, time);
        Log.Connected(client.logger, options.Host, options.Port);
        return client;
    }

    /// <summary>Reads coils (function 01) or discrete inputs (function 02).</summary>
    /// <param name="unit">0 to 255.</param>
    /// <param name="table">Coils or discrete inputs.</param>
    /// <param name="address">Zero-based.</param>
    /// <param name="destination">1 to 2,000 bits; written before the task completes, never after.</param>
    /// <exception cref="ModbusException">See the derived types.</exception>
    public ValueTask<ModbusTiming> ReadBitsAsync(byte unit, ModbusTable table, ushort address, Memory<bool> destination, CancellationToken cancellation = default)
    {
        if (!ReadPdu.IsOfBits(table))
        {
            throw new ArgumentOutOfRangeException(nameof(table), table, "allowed: coils, discrete inputs");
        }

        CheckRange(address, destination.Length, ReadPdu.MaxBits);
        return Begin(Rent().Ask(unit, table, address, destination), cancellation);
    }

    /// <summary>Reads holding registers (function 03) or input registers (function 04).</summary>
    /// <param name="unit">0 to 255.</param>
    /// <param name="table">Holding or input registers.</param>
    /// <param name="address">Zero-based.</param>
    /// <param name="destination">1 to 125 registers; written before the task completes, never after.</param>
    /// <exception cref="ModbusException">See the derived types.</exception>
    public ValueTask<ModbusTiming> ReadRegistersAsync(byte unit, ModbusTable table, ushort address, Memory<ushort> destination, CancellationToken cancellation = default)
    {
        if (table is not (ModbusTable.HoldingRegisters or ModbusTable.InputRegisters))
        {
            throw new ArgumentOutOfRangeException(nameof(table), table, "allowed: holding registers, input registers");
        }

        CheckRange(address, destination.Length, ReadPdu.MaxRegisters);
        return Begin(Rent().Ask(unit, table, address, destination), cancellation);
    }

    /// <summary>Reads what the device says of itself (function 43/14; V1.1b3, 6.21), as many requests as that takes.</summary>
    /// <exception cref="ModbusException">See the derived types.</exception>
    public async Task<ModbusDeviceIdentification> ReadDeviceIdentificationAsync(
        byte unit,
        DeviceIdentificationLevel level = DeviceIdentificationLevel.Basic,
        CancellationToken cancellation = default)
    {
        var collected = new DeviceIdentificationReader();
        var pdu = new byte[Mbap.MaxPdu];
        do
        {
            var request = Rent().AskIdentification(unit, level, collected.NextObject, pdu);
            await Begin(request, cancellation);
            if (collected.Add(pdu.AsSpan(0, request.PduLength)) is { } reason)
            {
                throw Break(new ModbusProtocolException($"device identification of unit {unit}: {reason}"));
            }
        }
        while (collected.MoreFollows);
        return collected.ToIdentification();
    }

    public ValueTask DisposeAsync()
    {
        lock (gate)
        {
            isDisposed = true;
        }

        Break(new ModbusConnectionException("the connection was closed on this side"));
        return ValueTask.CompletedTask;
    }

    /// <summary>
    /// Connects on a thread of its own. An asynchronous connect would register the socket for notifications, and each answer
    /// would then wake another thread for nothing, even where the waiting one has already taken it: a third of the cost of a read.
    /// </summary>
    private static async Task ConnectAsync(Socket socket, ModbusClientOptions options, CancellationToken stop)
    {
        await using var abort = stop.UnsafeRegister(static s => ((Socket)s!).Dispose(), socket);
        await Task.Factory.StartNew(
            () => socket.Connect(options.Host, options.Port),
            stop,
            TaskCreationOptions.LongRunning | TaskCreationOptions.RunContinuationsAsynchronously,
            TaskScheduler.Default);
        stop.ThrowIfCancellationRequested();
    }

    private static void CheckRange(ushort address, int quantity, int maximum)
    {
        if (quantity < 1 || quantity > maximum)
        {
            throw new ArgumentOutOfRangeException(nameof(quantity), quantity, $"allowed: 1 to {maximum}");
        }

        if (address + quantity > 65536)
        {
            throw new ArgumentOutOfRangeException(nameof(address), address, $"{quantity} from here reach beyond address 65535");
        }
    }

    private static partial class Log
    {
        [LoggerMessage(1101, LogLevel.Information, "Connected to Modbus device {Host}:{Port}")]
        public static partial void Connected(ILogger logger, string host, int port);

        [LoggerMessage(1102, LogLevel.Warning, "Connection to Modbus device {Host}:{Port} is broken: {Reason}")]
        public static partial void Broken(ILogger logger, string host, int port, string reason);

        [LoggerMessage(1103, LogLevel.Debug, "Dropped a late answer of Modbus device {Host}:{Port} to transaction {Transaction}")]
        public static partial void LateReply(ILogger logger, string host, int port, ushort transaction);

        [LoggerMessage(1104, LogLevel.Warning, "Dropped an answer of Modbus device {Host}:{Port} to transaction {Transaction}, which nobody asked for")]
        public static partial void StrayReply(ILogger logger, string host, int port, ushort transaction);

        [LoggerMessage(1105, LogLevel.Information, "Closed the connection to Modbus device {Host}:{Port}")]
        public static partial void Closed(ILogger logger, string host, int port);
    }
}
