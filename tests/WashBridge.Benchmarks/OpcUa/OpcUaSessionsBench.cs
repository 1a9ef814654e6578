using System.Diagnostics;
using System.Globalization;
using System.Text.Json.Nodes;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>
/// 50 sessions of 60 items at 100 ms: our client in a process that has one core, our server in another. The variables count, so that each
/// notification that is missing shows; after the last change every item must have reached the last number.
/// </summary>
internal sealed class OpcUaSessionsBench : IBench
{
    private const int Sessions = 50;
    private const int Items = 60;
    private const int IntervalMs = 100;

    public string Name => "opcua-sessions";

    public string What => "50 sessions of 60 items at 100 ms on one core, every notification counted; [SECONDS, or MINUTES as 10m], [POLICY]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var length = arguments.Length == 0 ? TimeSpan.FromSeconds(30) : Length(arguments[0]);
        var policy = arguments.Length > 1 ? arguments[1] : "Basic256Sha256";
        await using var server = await LinePeer.ChildAsync("opcua-server-child", cancellation);
        await using var clients = await LinePeer.ChildAsync("opcua-sessions-child", cancellation, processors: "0");
        var trust = (string)(await clients.AskAsync(new { @do = "certificate" }, cancellation))["der"]!;
        var started = await server.AskAsync(new { @do = "start", variables = Items, interval = IntervalMs, trust }, cancellation);
        var opening = Stopwatch.StartNew();
        var before = await clients.AskAsync(
            new
            {
                @do = "start",
                url = (string)started["url"]!,
                certificateFile = (string)started["certificateFile"]!,
                index = (int)started["index"]!,
                policy,
                sessions = Sessions,
                items = Items,
                interval = IntervalMs,
            },
            cancellation);
        Console.WriteLine($"{Sessions} sessions under {policy} opened in {opening.Elapsed.TotalSeconds:0.0} s");
        await ReportAsync(server, clients, before, length, cancellation);
        var last = (uint)(await server.AskAsync(new { @do = "stop-changes" }, cancellation))["count"]!;
        await Task.Delay(TimeSpan.FromSeconds(2), TimeProvider.System, cancellation);
        Print(await clients.AskAsync(new { @do = "state" }, cancellation), last);
    }

    private static async Task ReportAsync(LinePeer server, LinePeer clients, JsonNode before, TimeSpan length, CancellationToken cancellation)
    {
        const int Reports = 5;
        var serverBefore = await server.AskAsync(new { @do = "state" }, cancellation);
        for (var report = 0; report < Reports; report++)
        {
            var clock = Stopwatch.StartNew();
            await Task.Delay(length / Reports, TimeProvider.System, cancellation);
            var now = await clients.AskAsync(new { @do = "state" }, cancellation);
            var serverNow = await server.AskAsync(new { @do = "state" }, cancellation);
            var us = clock.Elapsed.TotalMicroseconds;
            var values = Difference(before, now, "values");
            Console.WriteLine(
                $"{values / us * 1e6,9:N0} values/s, missing {now["missing"]}, repeated {now["repeated"]}, overflows {now["overflows"]}, interruptions {now["interruptions"]}; "
                + $"one core: client {Difference(before, now, "processorUs") / us:P1} ({Difference(before, now, "processorUs") / values:0.00} us and "
                + $"{Difference(before, now, "bytes") / values:0} bytes a value), server {Difference(serverBefore, serverNow, "processorUs") / us:P1}");
            (before, serverBefore) = (now, serverNow);
        }
    }

    private static void Print(JsonNode end, uint last)
    {
        var (missing, reached) = ((long)end["missing"]!, (uint)end["first"]!);
        Console.WriteLine($"{(long)end["values"]!:N0} notifications, {missing} missing, every item has reached {reached} of {last}, republished {end["republished"]}: "
            + (missing == 0 && reached == last ? "none lost (bar reached)" : "LOST"));
    }

    private static double Difference(JsonNode before, JsonNode now, string what) => (double)now[what]! - (double)before[what]!;

    private static TimeSpan Length(string text) => text.EndsWith('m')
        ? TimeSpan.FromMinutes(double.Parse(text[..^1], CultureInfo.InvariantCulture))
        : TimeSpan.FromSeconds(double.Parse(text, CultureInfo.InvariantCulture));
}
