using System.Diagnostics;
using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>Our client with the commands of tests/peers/opcua_bench_client.mjs: connect, read, subscribe, close.</summary>
internal sealed class OpcUaClientChild : IBench
{
    public string Name => "opcua-client-child";

    public string What => "(child process of 'opcua-client') our OPC UA client, driven by JSON lines";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        using var client = new BenchClient();
        await using var commands = new Commands(client);
        await LineChild.ServeAsync(command => commands.AnswerAsync(command, cancellation), cancellation);
    }

    private sealed class Commands(BenchClient client) : IAsyncDisposable
    {
        private static readonly TimeSpan Settle = TimeSpan.FromSeconds(1.5);

        private UaClientOptions? options;
        private UaSession? session;

        public async ValueTask DisposeAsync() => await CloseAsync();

        public async Task<object?> AnswerAsync(JsonNode command, CancellationToken cancellation)
        {
            switch ((string)command["do"]!)
            {
                case "connect":
                    await CloseAsync();
                    options = client.Options((string)command["url"]!, (string)command["policy"]!, (string?)command["certificateFile"]);
                    session = await UaSession.ConnectAsync(options, null, TimeProvider.System, cancellation);
                    return null;
                case "read":
                    return await ReadAsync(Nodes(command), (double)command["seconds"]!, cancellation);
                case "subscribe":
                    return await SubscribeAsync(Nodes(command), (double)command["interval"]!, (double)command["seconds"]!, cancellation);
                case "close":
                    await CloseAsync();
                    return null;
                case var unknown:
                    throw new ArgumentException($"no command {unknown}");
            }
        }

        private async Task<object> ReadAsync(NodeId[] nodes, double seconds, CancellationToken cancellation)
        {
            ReadValueId[] request = [.. nodes.Select(node => new ReadValueId(node, AttributeIds.Value, null, default))];
            var latencies = new List<double>(200_000);
            var bytes = GC.GetTotalAllocatedBytes();
            var processor = Environment.CpuUsage.TotalTime;
            var clock = Stopwatch.StartNew();
            for (var now = clock.Elapsed; now.TotalSeconds < seconds;)
            {
                var result = await session!.ReadAsync(request, cancellation: cancellation);
                var then = now;
                now = clock.Elapsed;
                latencies.Add((now - then).TotalMicroseconds);
                foreach (var value in result.Values)
                {
                    if (value.Status.Value != 0)
                    {
                        throw new InvalidDataException($"bad value: {value.Status}");
                    }
                }
            }

            var used = Environment.CpuUsage.TotalTime - processor;
            var allocated = GC.GetTotalAllocatedBytes() - bytes;
            latencies.Sort();
            return new
            {
                seconds = clock.Elapsed.TotalSeconds,
                processorUs = used.TotalMicroseconds,
                count = latencies.Count,
                values = latencies.Count * nodes.Length,
                p50Us = latencies[latencies.Count / 2],
                p99Us = latencies[latencies.Count * 99 / 100],
                bytes = allocated,
            };
        }

        /// <summary>As the program does it: a connection that is kept alive, with a subscription of its own.</summary>
        private async Task<object> SubscribeAsync(NodeId[] nodes, double interval, double seconds, CancellationToken cancellation)
        {
            var counting = new Counting();
            await using var connection = UaConnection.Start(options!, null, TimeProvider.System);
            await using var subscription = connection.Subscribe(
                new SubscriptionSpec
                {
                    PublishingInterval = TimeSpan.FromMilliseconds(interval),
                    Items = [.. nodes.Select((node, i) => new MonitoredItemSpec { ClientHandle = (uint)i, Node = node, SamplingInterval = TimeSpan.FromMilliseconds(interval), QueueSize = 1 })],
                },
                counting);
            await Task.Delay(Settle, TimeProvider.System, cancellation);
            var (values, messages) = (counting.Values, counting.Messages);
            var bytes = GC.GetTotalAllocatedBytes();
            var processor = Environment.CpuUsage.TotalTime;
            var clock = Stopwatch.StartNew();
            await Task.Delay(TimeSpan.FromSeconds(seconds), TimeProvider.System, cancellation);
            return new
            {
                seconds = clock.Elapsed.TotalSeconds,
                processorUs = (Environment.CpuUsage.TotalTime - processor).TotalMicroseconds,
                values = counting.Values - values,
                messages = counting.Messages - messages,
                bytes = GC.GetTotalAllocatedBytes() - bytes,
            };
        }

        private async Task CloseAsync()
        {
            if (session is not null)
            {
                await session.DisposeAsync();
                session = null;
            }
        }

        private static NodeId[] Nodes(JsonNode command) => [.. command["nodes"]!.AsArray().Select(node => NodeId.Parse((string)node!))];
    }

    private sealed class Counting : ISubscriptionListener
    {
        public long Values { get; private set; }

        public long Messages { get; private set; }

        public void OnNotification(in PublishedNotification notification)
        {
            Values += notification.Values.Count;
            Messages++;
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
        }

        public void OnClockOffset(in ClockOffset offset)
        {
        }
    }
}
