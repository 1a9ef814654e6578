using System.Globalization;
using System.Text.Json.Nodes;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>
/// Our client and that of node-opcua against the same node-opcua server, turn by turn in one run, each client in a process of its own, so that
/// whatever else the machine does hits both. Processor time is that of the client's process alone.
/// </summary>
internal sealed class OpcUaClientBench : IBench
{
    private const double Bar = 0.5;
    private const int Items = 2000;
    private const int IntervalMs = 250;

    public string Name => "opcua-client";

    public string What => "reads of 1, 60, 500 nodes and 2,000 items at 250 ms against node-opcua's client, same server; [SECONDS] a turn, [TURNS], [POLICY]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var seconds = arguments.Length > 0 ? double.Parse(arguments[0], CultureInfo.InvariantCulture) : 2;
        var turns = arguments.Length > 1 ? int.Parse(arguments[1], CultureInfo.InvariantCulture) : 5;
        string[] policies = arguments.Length > 2 ? [arguments[2]] : ["None", "Basic256Sha256"];
        await using var server = await LinePeer.NodeAsync("opcua_server.mjs", new { variables = Items, rateHz = 1000.0 / IntervalMs }, cancellation);
        var description = await server.AnswerAsync(cancellation);
        await using var theirs = await LinePeer.NodeAsync("opcua_bench_client.mjs", null, cancellation);
        await using var ours = await LinePeer.ChildAsync("opcua-client-child", cancellation);
        Console.WriteLine($"{"",-46} {"node-opcua's client",28}   {"ours",28}   CPU ratio");
        Console.WriteLine($"{"policy",-16} {"load",-29} {"CPU us/value",12} {"p50 us",7} {"p99 us",7}   {"CPU us/value",12} {"p50 us",7} {"p99 us",7}   {"median",6} (bar {Bar:0.0}) bytes/value");
        foreach (var policy in policies)
        {
            var connect = new { @do = "connect", url = (string)description["endpointUrl"]!, policy, certificateFile = (string)description["certificateFile"]! };
            await theirs.AskAsync(connect, cancellation);
            await ours.AskAsync(connect, cancellation);
            var space = (int)description["namespaceIndex"]!;
            foreach (var nodes in (int[])[1, 60, 500])
            {
                var read = new { @do = "read", nodes = Nodes(space, nodes), seconds };
                await WarmAsync(theirs, ours, read with { seconds = 5.0 }, cancellation);
                Print(policy, $"read of {nodes}", await MeasureAsync(theirs, ours, read, turns, cancellation));
            }

            var subscribe = new { @do = "subscribe", nodes = Nodes(space, Items), interval = IntervalMs, seconds };
            await WarmAsync(theirs, ours, subscribe with { seconds = 20.0 }, cancellation);
            Print(policy, $"{Items} items at {IntervalMs} ms", await MeasureAsync(theirs, ours, subscribe, turns, cancellation));
        }
    }

    /// <summary>Both compile what they use often while they run, on other threads: that is over when it counts.</summary>
    private static Task WarmAsync(LinePeer theirs, LinePeer ours, object command, CancellationToken cancellation) =>
        Task.WhenAll(theirs.AskAsync(command, cancellation), ours.AskAsync(command, cancellation));

    private static async Task<List<(Turn Theirs, Turn Ours)>> MeasureAsync(LinePeer theirs, LinePeer ours, object command, int turns, CancellationToken cancellation)
    {
        var measured = new List<(Turn, Turn)>();
        for (var turn = 0; turn < turns; turn++)
        {
            measured.Add((Turn.Of(await theirs.AskAsync(command, cancellation)), Turn.Of(await ours.AskAsync(command, cancellation))));
        }

        return measured;
    }

    /// <summary>Ratios are taken turn by turn, and their median shown.</summary>
    private static void Print(string policy, string load, List<(Turn Theirs, Turn Ours)> turns)
    {
        var ratio = Median(turns.Select(t => t.Ours.Processor / t.Theirs.Processor));
        var isQuick = Median(turns.Select(t => t.Ours.P50 / t.Theirs.P50)) is double.NaN or <= 1;
        Console.WriteLine(
            $"{policy,-16} {load,-29} {Columns(turns.Select(t => t.Theirs))}   {Columns(turns.Select(t => t.Ours))}   "
            + $"{ratio,6:0.00} {(ratio <= Bar && isQuick ? "reached" : "MISSED"),-9} {Median(turns.Select(t => t.Ours.Bytes)),6:0}"
            + (load.Contains("items", StringComparison.Ordinal) ? $"   values/s {Median(turns.Select(t => t.Theirs.Rate)):N0} and {Median(turns.Select(t => t.Ours.Rate)):N0}" : ""));
    }

    private static string Columns(IEnumerable<Turn> turns) => string.Create(
        CultureInfo.InvariantCulture,
        $"{Median(turns.Select(t => t.Processor)),12:0.00} {Median(turns.Select(t => t.P50)),7:0} {Median(turns.Select(t => t.P99)),7:0}");

    private static double Median(IEnumerable<double> values)
    {
        var sorted = values.Order().ToArray();
        return sorted[sorted.Length / 2];
    }

    private static string[] Nodes(int space, int count) => [.. Enumerable.Range(0, count).Select(i => $"ns={space};s=V{i}")];

    /// <param name="Processor">Microseconds a value.</param>
    /// <param name="Rate">Values a second.</param>
    /// <param name="P50">Microseconds; not a number where nothing is asked.</param>
    /// <param name="Bytes">Allocated a value.</param>
    private readonly record struct Turn(double Processor, double Rate, double P50, double P99, double Bytes)
    {
        public static Turn Of(JsonNode answer)
        {
            var values = (double)answer["values"]!;
            return new Turn(
                (double)answer["processorUs"]! / values,
                values / (double)answer["seconds"]!,
                (double?)answer["p50Us"] ?? double.NaN,
                (double?)answer["p99Us"] ?? double.NaN,
                ((double?)answer["bytes"] ?? double.NaN) / values);
        }
    }
}
