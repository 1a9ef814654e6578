using System.Diagnostics;
using System.Globalization;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Benchmarks;

/// <summary>
/// Our client and that of libmodbus read 100 registers from the same libmodbus server, turn by turn in one run, so that
/// whatever else the machine does hits both.
/// </summary>
internal sealed class ModbusClientBench : IBench
{
    private const int Registers = 100;
    private static readonly (int InFlight, double Bar)[] Depths = [(1, 0.9), (4, 1.4), (8, 1.4), (16, 1.4)];

    public string Name => "modbus-client";

    public string What => "reads of 100 registers against libmodbus's own C client, same server; [SECONDS] a turn, [TURNS]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var seconds = arguments.Length > 0 ? double.Parse(arguments[0], CultureInfo.InvariantCulture) : 1;
        var turns = arguments.Length > 1 ? int.Parse(arguments[1], CultureInfo.InvariantCulture) : 5;
        var peers = Path.Combine(RepositoryRoot(AppContext.BaseDirectory), "artifacts", "peers");
        using var server = Start(Path.Combine(peers, "libmodbus_server"));
        try
        {
            var port = int.Parse((await server.StandardOutput.ReadLineAsync(cancellation))!["READY ".Length..], CultureInfo.InvariantCulture);
            var theirs = new List<Turn>();
            var ours = Depths.ToDictionary(d => d.InFlight, _ => new List<Turn>());
            for (var turn = 0; turn < turns; turn++)
            {
                theirs.Add(await LibmodbusAsync(Path.Combine(peers, "libmodbus_client"), port, seconds, cancellation));
                foreach (var (inFlight, _) in Depths)
                {
                    ours[inFlight].Add(await OursAsync(port, inFlight, seconds, cancellation));
                }
            }

            Print(theirs, ours);
        }
        finally
        {
            server.Kill();
            await server.WaitForExitAsync(CancellationToken.None);
        }
    }

    /// <summary>Ratios are taken turn by turn, and their median shown.</summary>
    private static void Print(List<Turn> theirs, Dictionary<int, List<Turn>> ours)
    {
        Console.WriteLine($"{"client",-12} {"in flight",9} {"requests/s",11} {"ratio",6} {"bar",5} {"",-8} {"CPU us each",11} {"bytes each",10}");
        Console.WriteLine($"{"libmodbus C",-12} {1,9} {Median(theirs.Select(t => t.Rate)),11:N0} {1,6:0.00} {"",5} {"",-8} {Median(theirs.Select(t => t.Processor)),11:0.0}");
        foreach (var (inFlight, bar) in Depths)
        {
            var turns = ours[inFlight];
            var ratio = Median(turns.Select((t, i) => t.Rate / theirs[i].Rate));
            Console.WriteLine(
                $"{"WashBridge",-12} {inFlight,9} {Median(turns.Select(t => t.Rate)),11:N0} {ratio,6:0.00} {bar,5:0.00} {(ratio >= bar ? "reached" : "MISSED"),-8} "
                + $"{Median(turns.Select(t => t.Processor)),11:0.0} {turns.Min(t => t.Bytes),10:0.000}");
        }
    }

    private static double Median(IEnumerable<double> values)
    {
        var sorted = values.Order().ToArray();
        return sorted[sorted.Length / 2];
    }

    private static async Task<Turn> LibmodbusAsync(string file, int port, double seconds, CancellationToken cancellation)
    {
        using var client = Start(file, $"{port}", "bench", seconds.ToString(CultureInfo.InvariantCulture));
        var output = await client.StandardOutput.ReadToEndAsync(cancellation);
        await client.WaitForExitAsync(cancellation);
        var figures = output.Split(' ').Select(f => double.Parse(f, CultureInfo.InvariantCulture)).ToArray();
        return new Turn(figures[0], figures[1], 0);
    }

    private static async Task<Turn> OursAsync(int port, int inFlight, double seconds, CancellationToken cancellation)
    {
        var options = new ModbusClientOptions { Host = "127.0.0.1", Port = port, InFlight = inFlight };
        await using var client = await ModbusClient.ConnectAsync(options, null, TimeProvider.System, cancellation);
        var buffers = Enumerable.Range(0, inFlight).Select(_ => new ushort[Registers]).ToArray();
        await ReadAsync(client, buffers, 0.1, cancellation);
        var bytes = GC.GetTotalAllocatedBytes(precise: true);
        var processor = Environment.CpuUsage.TotalTime;
        var (count, elapsed) = await ReadAsync(client, buffers, seconds, cancellation);
        return new Turn(
            count / elapsed,
            (Environment.CpuUsage.TotalTime - processor).TotalMicroseconds / count,
            (GC.GetTotalAllocatedBytes(precise: true) - bytes) / (double)count);
    }

    /// <summary>Keeps as many requests on their way as allowed; every answer is checked, as the C client does.</summary>
    private static async Task<(long Count, double Seconds)> ReadAsync(ModbusClient client, ushort[][] buffers, double seconds, CancellationToken cancellation)
    {
#pragma warning disable CA2012 // Each is awaited once before its place is used again.
        var pending = new ValueTask<ModbusTiming>[buffers.Length];
        var count = 0L;
        var clock = Stopwatch.StartNew();
        for (var i = 0; i < pending.Length; i++)
        {
            pending[i] = client.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 0, buffers[i], cancellation);
        }

        for (var i = 0; clock.Elapsed.TotalSeconds < seconds; i = (i + 1) % pending.Length)
        {
            await pending[i];
            Check(buffers[i]);
            count++;
            pending[i] = client.ReadRegistersAsync(1, ModbusTable.HoldingRegisters, 0, buffers[i], cancellation);
        }

        foreach (var last in pending)
        {
            await last;
        }
#pragma warning restore CA2012

        return (count, clock.Elapsed.TotalSeconds);
    }

    private static void Check(ushort[] registers)
    {
        for (var i = 0; i < registers.Length; i++)
        {
            if (registers[i] != i)
            {
                throw new InvalidDataException($"register {i} is {registers[i]}");
            }
        }
    }

    private static Process Start(string file, params string[] arguments) => Process.Start(
        new ProcessStartInfo(File.Exists(file) ? file : throw new FileNotFoundException("run tests/peers/install first", file), arguments)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
        })!;

    private static string RepositoryRoot(string folder) =>
        File.Exists(Path.Combine(folder, "WashBridge.sln")) ? folder : RepositoryRoot(Path.GetDirectoryName(folder) ?? throw new DirectoryNotFoundException("no WashBridge.sln above the benches"));

    /// <param name="Rate">Requests a second.</param>
    /// <param name="Processor">Microseconds of processor time a request, of the client alone.</param>
    /// <param name="Bytes">Allocated a request.</param>
    private readonly record struct Turn(double Rate, double Processor, double Bytes);
}
