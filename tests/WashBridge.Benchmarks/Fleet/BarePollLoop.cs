using System.Buffers.Binary;
using System.Diagnostics;
using System.Globalization;
using System.Net.Sockets;
using WashBridge.Protocols.Modbus;
using WashBridge.Simulator;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>
/// The least that reading can cost: one thread, blocking sockets, the same requests at the same intervals as a bridge, and the answers thrown away. What a bridge takes beyond that is for
/// times, values, changes, the log, cycles, verdicts, figures and forwarding.
/// </summary>
internal sealed class BarePollLoop : IBench
{
    /// <summary>Function codes of the MODBUS Application Protocol Specification V1.1b3, section 6.</summary>
    private static readonly Dictionary<ModbusTable, byte> Functions = new()
    {
        [ModbusTable.DiscreteInputs] = 2,
        [ModbusTable.HoldingRegisters] = 3,
        [ModbusTable.InputRegisters] = 4,
    };

    private static readonly (int Group, TimeSpan Every)[] Schedule = [(0, TimeSpan.FromMilliseconds(250)), (1, TimeSpan.FromSeconds(1)), (2, TimeSpan.FromSeconds(10))];

    public string Name => "fleet-bare";

    public string What => "(child process of 'fleet') a minimal poll loop over PORTS; prints reads and bytes of payload so far at every line of its standard input; ends with it";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var (done, bytes) = (0L, 0L);
        var stop = false;
        var polling = new Thread(() => Poll([.. arguments.Select(a => int.Parse(a, CultureInfo.InvariantCulture))], () => Volatile.Read(ref stop), payload =>
        {
            Interlocked.Increment(ref done);
            Interlocked.Add(ref bytes, payload);
        }));
        polling.Start();
        while (Console.In.ReadLine() is not null)
        {
            Console.WriteLine($"{Interlocked.Read(ref done)} {Interlocked.Read(ref bytes)}");
        }

        Volatile.Write(ref stop, true);
        polling.Join();
        return Task.CompletedTask;
    }

    private static void Poll(List<int> ports, Func<bool> stopped, Action<int> count)
    {
        var map = new SimulatedWasher(FleetPlant.Options(1)).Map;
        var requests = Schedule.ToDictionary(s => s.Group, s => new ReadPlan([.. map.Where(m => m.Group == s.Group).Select(m => m.Point)], new ReadPlanOptions()).Build(0).ConvertAll(Encode));
        var answer = new byte[300];
        var due = new PriorityQueue<(Socket Socket, int Group, TimeSpan Every, long Due), long>();
        foreach (var port in ports)
        {
            var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
            socket.Connect("127.0.0.1", port);
            foreach (var (group, every) in Schedule)
            {
                var now = Stopwatch.GetTimestamp();
                due.Enqueue((socket, group, every, now), now);
            }
        }

        while (!stopped())
        {
            var next = due.Dequeue();
            var wait = Stopwatch.GetElapsedTime(Stopwatch.GetTimestamp(), next.Due);
            if (wait > TimeSpan.Zero)
            {
#pragma warning disable RS0030 // The cheapest wait that there is: what is measured is the least that polling can cost.
                Thread.Sleep(wait);
#pragma warning restore RS0030
            }

            var payload = 0;
            foreach (var request in requests[next.Group])
            {
                next.Socket.Send(request);
                Receive(next.Socket, answer.AsSpan(0, 6));
                var rest = BinaryPrimitives.ReadUInt16BigEndian(answer.AsSpan(4));
                Receive(next.Socket, answer.AsSpan(6, rest));
                payload += request.Length + 6 + rest;
            }

            count(payload);
            var following = next.Due + (long)(next.Every.TotalSeconds * Stopwatch.Frequency);
            due.Enqueue(next with { Due = following }, following);
        }
    }

    private static byte[] Encode(ReadBlock block)
    {
        var request = new byte[] { 0, 1, 0, 0, 0, 6, 255, Functions[block.Table], 0, 0, 0, 0 };
        BinaryPrimitives.WriteUInt16BigEndian(request.AsSpan(8), (ushort)block.Address);
        BinaryPrimitives.WriteUInt16BigEndian(request.AsSpan(10), (ushort)block.Quantity);
        return request;
    }

    private static void Receive(Socket socket, Span<byte> wanted)
    {
        while (wanted.Length > 0)
        {
            var read = socket.Receive(wanted);
            wanted = read > 0 ? wanted[read..] : throw new IOException("the washer has closed the connection");
        }
    }
}
