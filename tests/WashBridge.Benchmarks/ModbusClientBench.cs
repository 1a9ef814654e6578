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
            var theirs = new List<double>();
            var ours = Depths.ToDictionary(d => d.InFlight, _ => new List<(double Rate, double Bytes)>());
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
    private static void Print(List<double> theirs, Dictionary<int, List<(double Rate, double Bytes)>> ours)
    {
        Console.WriteLine($"{"client",-12} {"in flight",9} {"requests/s",11} {"ratio",6} {"bar",5}         bytes/request");
        Console.WriteLine($"{"libmodbus C",-12} {1,9} {Median(theirs),11:N0} {1,6:0.00}");
        foreach (var (inFlight, bar) in Depths)
        {
            var rates = ours[inFlight];
            var ratio = Median([.. rates.Select((r, i) => r.Rate / theirs[i])]);
            Console.WriteLine(
                $"{"WashBridge",-12} {inFlight,9} {Median([.. rates.Select(r => r.Rate)]),11:N0} {ratio,6:0.00} {bar,5:0.00} {(ratio >= bar ? "reached" : "MISSED"),-8} {rates.Min(r => r.Bytes),12:0.000}");
        }
    }

    private static double Median(List<double> values)
    {
        var sorted = values.Order().ToArray();
        return sorted[sorted.Length / 2];
    }

    private static async Task<double> LibmodbusAsync(string file, int port, double seconds, CancellationToken cancellation)
    {
        using var client = Start(file, $"{port}", "bench", seconds.ToString(CultureInfo.InvariantCulture));
        var output = await client.StandardOutput.ReadToEndAsync(cancellation);
        await client.WaitForExitAsync(cancellation);
        return double.Parse(output, CultureInfo.InvariantCulture);
    }

    private static async Task<(double Rate, double Bytes)> OursAsync(int port, int inFlight, double seconds, CancellationToken cancellation)
    {
        var options = new ModbusClientOptions { Host = "127.0.0.1", Port = port, InFlight = inFlight };
        await using var client = await ModbusClient.ConnectAsync(options, null, TimeProvider.System, cancellation);
        var buffers = Enumerable.Range(0, inFlight).Select(_ => new ushort[Registers]).ToArray();
        await ReadAsync(client, buffers, 0.1, cancellation);
        var before = GC.GetTotalAllocatedBytes(precise: true);
        var (count, elapsed) = await ReadAsync(client, buffers, seconds, cancellation);
        return (count / elapsed, (GC.GetTotalAllocatedBytes(precise: true) - before) / (double)count);
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
}
