using System.Diagnostics;
using System.Globalization;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>
/// Connections to a node-opcua server that are closed, reset or stalled, and a server that is restarted: how long until a subscription of 60 items
/// at 100 ms tells values again, and whether the gap is marked.
/// </summary>
internal sealed class OpcUaRecoverBench : IBench
{
    private const int Items = 60;
    private const double DownSeconds = 2;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);
    private static readonly (string Command, string What, double Bar)[] Cases =
    [
        ("drop fin", "connections closed", 1),
        ("drop rst", "connections reset", 1),
        ("drop stall", "connections stalled", 1),
        ($"restart {DownSeconds}", $"server restarted after {DownSeconds} s, from when it is up", 2),
    ];

    public string Name => "opcua-recover";

    public string What => "connections closed, reset, stalled, server restarted: time until sampling again; [TIMES], [POLICY]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var times = arguments.Length > 0 ? int.Parse(arguments[0], CultureInfo.InvariantCulture) : 5;
        var policy = arguments.Length > 1 ? arguments[1] : "None";
        await using var server = await LinePeer.NodeAsync("opcua_server.mjs", new { variables = Items }, cancellation);
        var description = await server.AnswerAsync(cancellation);
        using var client = new BenchClient();
        var options = client.Options((string)description["endpointUrl"]!, policy, (string)description["certificateFile"]!);
        var watcher = new Watcher();
        await using var connection = UaConnection.Start(options, null, TimeProvider.System);
        connection.Subscribe(
            new SubscriptionSpec
            {
                PublishingInterval = TimeSpan.FromMilliseconds(100),
                Items = [.. Enumerable.Range(0, Items).Select(i => new MonitoredItemSpec { ClientHandle = (uint)i, Node = new NodeId((ushort)(int)description["namespaceIndex"]!, $"V{i}") })],
            },
            watcher);
        await watcher.WaitAsync(after: 0, cancellation);
        foreach (var (command, what, bar) in Cases)
        {
            var measured = new List<Recovery>();
            for (var i = 0; i < times; i++)
            {
                await Task.Delay(TimeSpan.FromSeconds(1.5), TimeProvider.System, cancellation);
                measured.Add(await MeasureAsync(server, watcher, command, cancellation));
            }

            var until = measured.Select(m => m.Milliseconds).Order().ToArray();
            Console.WriteLine(
                $"{what,-50} median {until[until.Length / 2],6:0} ms, worst {until[^1],6:0} ms, bar {1000 * bar:0} {(until[^1] <= 1000 * bar ? "reached" : "MISSED")}; "
                + $"told as continuous {measured.Count(m => m.WasContinuous)}, as a gap {measured.Count(m => !m.WasContinuous)} of {times}");
        }

        Console.WriteLine(connection.Counters);
    }

    private static async Task<Recovery> MeasureAsync(LinePeer server, Watcher watcher, string command, CancellationToken cancellation)
    {
        var began = Stopwatch.GetTimestamp();
        var isRestart = command.StartsWith("restart", StringComparison.Ordinal);
        await server.AskAsync(command, cancellation);

        // A restarted server answers once it listens again.
        var from = isRestart ? Stopwatch.GetTimestamp() : began;
        var (resumed, isContinuous) = await watcher.WaitAsync(began, cancellation);
        return new Recovery(Math.Max(0, Stopwatch.GetElapsedTime(from, resumed).TotalMilliseconds), isContinuous);
    }

    private readonly record struct Recovery(double Milliseconds, bool WasContinuous);

    private sealed class Watcher : ISubscriptionListener
    {
        private readonly Lock gate = new();
        private TaskCompletionSource<(long Stamp, bool Continuous)> values = new(TaskCreationOptions.RunContinuationsAsynchronously);
        private long resumedAt;
        private bool wasContinuous;
        private bool isFirst;

        /// <summary>The first values after the subscription was resumed later than the given stamp.</summary>
        public async Task<(long Stamp, bool Continuous)> WaitAsync(long after, CancellationToken cancellation)
        {
            while (true)
            {
                Task<(long Stamp, bool Continuous)> next;
                lock (gate)
                {
                    next = values.Task;
                }

                var found = await next.WaitAsync(Patience, cancellation);
                lock (gate)
                {
                    if (found.Stamp > after)
                    {
                        return found;
                    }

                    if (values.Task == next)
                    {
                        values = new(TaskCreationOptions.RunContinuationsAsynchronously);
                    }
                }
            }
        }

        public void OnNotification(in PublishedNotification notification)
        {
            lock (gate)
            {
                if (isFirst && Stopwatch.GetTimestamp() > resumedAt)
                {
                    isFirst = false;
                    if (values.Task.IsCompleted)
                    {
                        values = new(TaskCreationOptions.RunContinuationsAsynchronously);
                    }

                    values.SetResult((Stopwatch.GetTimestamp(), wasContinuous && notification.Continuous));
                }
            }
        }

        public void OnKeepAlive(DateTime serverTime, long sent, long received)
        {
        }

        public void OnItemChanged(in MonitoredItemState item)
        {
        }

        public void OnInterrupted(string reason, long stamp)
        {
        }

        public void OnResumed(bool continuous)
        {
            lock (gate)
            {
                (resumedAt, wasContinuous, isFirst) = (Stopwatch.GetTimestamp(), continuous, true);
            }
        }

        public void OnClockOffset(in ClockOffset offset)
        {
        }
    }
}
