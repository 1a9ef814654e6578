using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>Many connections of our client, each with one subscription to the same counting variables.</summary>
internal sealed class OpcUaSessionsChild : IBench
{
    public string Name => "opcua-sessions-child";

    public string What => "(child process of 'opcua-sessions') many connections of our OPC UA client, driven by JSON lines";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        using var client = new BenchClient();
        await using var commands = new Commands(client);
        await LineChild.ServeAsync(command => commands.AnswerAsync(command, cancellation), cancellation);
    }

    private sealed class Commands(BenchClient client) : IAsyncDisposable
    {
        private readonly List<(UaConnection Connection, Watcher Watcher)> connections = [];

        public async ValueTask DisposeAsync()
        {
            foreach (var (connection, _) in connections)
            {
                await connection.DisposeAsync();
            }
        }

        public async Task<object?> AnswerAsync(JsonNode command, CancellationToken cancellation)
        {
            switch ((string)command["do"]!)
            {
                case "certificate":
                    return new { der = client.Certificate };
                case "start":
                    Start(command);
                    await Task.WhenAll(connections.Select(c => c.Watcher.HasBegun)).WaitAsync(TimeSpan.FromMinutes(2), cancellation);
                    return State();
                case "state":
                    return State();
                case var unknown:
                    throw new ArgumentException($"no command {unknown}");
            }
        }

        private void Start(JsonNode command)
        {
            var options = client.Options((string)command["url"]!, (string)command["policy"]!, (string)command["certificateFile"]!);
            var interval = TimeSpan.FromMilliseconds((double)command["interval"]!);
            var (index, items) = ((ushort)(int)command["index"]!, (int)command["items"]!);
            for (var i = 0; i < (int)command["sessions"]!; i++)
            {
                var watcher = new Watcher(items);
                var connection = UaConnection.Start(options, null, TimeProvider.System);
                connection.Subscribe(
                    new SubscriptionSpec
                    {
                        PublishingInterval = interval,
                        Items = [.. Enumerable.Range(0, items).Select(item => new MonitoredItemSpec
                        {
                            ClientHandle = (uint)item,
                            Node = new NodeId(index, $"V{item}"),
                            SamplingInterval = interval / 5, // the variables' clock and ours are not in step
                            QueueSize = 100,
                        })],
                    },
                    watcher);
                connections.Add((connection, watcher));
            }
        }

        private object State() => new
        {
            values = connections.Sum(c => c.Watcher.Values),
            missing = connections.Sum(c => c.Watcher.Missing),
            repeated = connections.Sum(c => c.Watcher.Repeated),
            overflows = connections.Sum(c => c.Watcher.Overflows),
            interruptions = connections.Sum(c => c.Watcher.Interruptions),
            republished = connections.Sum(c => c.Connection.Counters.Republished),
            first = connections.Min(c => c.Watcher.Oldest),
            processorUs = Environment.CpuUsage.TotalTime.TotalMicroseconds,
            bytes = GC.GetTotalAllocatedBytes(),
        };
    }

    /// <summary>Every value of an item must be the next number.</summary>
    private sealed class Watcher(int items) : ISubscriptionListener
    {
        private readonly uint?[] last = new uint?[items];
        private readonly TaskCompletionSource begun = new(TaskCreationOptions.RunContinuationsAsynchronously);
        private int known;

        public Task HasBegun => begun.Task;

        public long Values { get; private set; }

        public long Missing { get; private set; }

        public long Repeated { get; private set; }

        public long Overflows { get; private set; }

        public int Interruptions { get; private set; }

        /// <summary>The count that every item has reached.</summary>
        public uint Oldest => last.Min() ?? 0;

        public void OnNotification(in PublishedNotification notification)
        {
            foreach (var value in notification.Values)
            {
                if (!value.Value.Value.TryGetNumber(out var number))
                {
                    continue;
                }

                var count = (uint)number;
                ref var before = ref last[value.ClientHandle];
                if (before is not { } previous)
                {
                    known++;
                }
                else if (count > previous)
                {
                    Missing += count - previous - 1;
                }
                else
                {
                    Repeated++;
                    continue;
                }

                before = count;
                Values++;
                Overflows += value.Value.Status.HasOverflow ? 1 : 0;
            }

            if (known == last.Length)
            {
                begun.TrySetResult();
            }
        }

        public void OnKeepAlive(DateTime serverTime, long sent, long received)
        {
        }

        public void OnItemChanged(in MonitoredItemState item)
        {
        }

        public void OnInterrupted(string reason, long stamp) => Interruptions++;

        public void OnResumed(bool continuous)
        {
        }

        public void OnClockOffset(in ClockOffset offset)
        {
        }
    }
}
