using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>What differs over real sockets: who receives, and how it ends.</summary>
public sealed class SocketTests
{
    /// <summary>Single requests are received by their callers, many at once by the channel's thread: it changes between the two, and loses nothing.</summary>
    [Fact]
    public async Task Callers_and_the_thread_take_turns_in_receiving()
    {
        await using var pair = await ChannelPair.OverSocketsAsync(ChannelPair.ClientOptions(), ChannelPair.ServerOptions());
        var serving = pair.ServeAsync();

        for (var round = 0; round < 50; round++)
        {
            for (var nodes = 1; nodes <= 20; nodes++)
            {
                Assert.Equal(nodes, (await pair.ReadAsync(nodes)).Body.Results.Count);
            }

            var answers = await Task.WhenAll(Enumerable.Range(1, 20).Select(nodes => Task.Run(() => pair.ReadAsync(nodes))));
            Assert.Equal(Enumerable.Range(1, 20), answers.Select(a => a.Body.Results.Count));
        }

        await pair.Client.DisposeAsync();
        await serving;
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(100)]
    public async Task A_server_that_hangs_up_is_noticed_while_nothing_is_asked(int readsBefore)
    {
        await using var pair = await ChannelPair.OverSocketsAsync(ChannelPair.ClientOptions(), ChannelPair.ServerOptions());
        var serving = pair.ServeAsync();
        for (var i = 0; i < readsBefore; i++)
        {
            await pair.ReadAsync();
        }

        await pair.Server.DisposeAsync();

        Assert.Equal(StatusCodes.BadConnectionClosed, (await pair.Client.Closed.Soon()).Status);
        await serving;
    }

    [Fact]
    public async Task Requests_on_their_way_fail_when_the_channel_is_closed()
    {
        await using var pair = await ChannelPair.OverSocketsAsync(ChannelPair.ClientOptions(), ChannelPair.ServerOptions());
        var reads = Enumerable.Range(0, 10).Select(_ => Task.Run(() => pair.ReadAsync())).ToArray();
        for (var i = 0; i < reads.Length; i++)
        {
            using var request = await pair.ReceiveAsync();
        }

        await pair.Client.DisposeAsync();

        foreach (var read in reads)
        {
            Assert.Equal(StatusCodes.BadConnectionClosed, (await Assert.ThrowsAsync<UaException>(() => read)).Status);
        }

        Assert.Null(await pair.Server.ReceiveAsync(TestContext.Current.CancellationToken));
        Assert.Equal(StatusCodes.BadSecureChannelClosed, (await pair.Server.Closed.Soon()).Status);
    }

    [Fact]
    public async Task Nobody_listening_is_said_so()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var endpoint = EndpointOf(listener);
        listener.Stop();

        var refused = await Assert.ThrowsAsync<UaException>(() => ClientChannel.OpenAsync(
            ChannelPair.ClientOptions() with { Endpoint = endpoint }, NullLogger.Instance, TimeProvider.System, TestContext.Current.CancellationToken));

        Assert.Equal(StatusCodes.BadCommunicationError, refused.Status);
        Assert.Contains(endpoint.ToString(), refused.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_server_that_accepts_and_says_nothing_is_given_up(bool byTimeout)
    {
        var time = new FakeTimeProvider();
        using var stop = new CancellationTokenSource();
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        var open = ClientChannel.OpenAsync(ChannelPair.ClientOptions() with { Endpoint = EndpointOf(listener) }, NullLogger.Instance, time, stop.Token);
        using var accepted = await listener.AcceptSocketAsync(TestContext.Current.CancellationToken);
        var hello = new byte[4];
        await accepted.ReceiveAsync(hello, TestContext.Current.CancellationToken);

        if (byTimeout)
        {
            time.Advance(TimeSpan.FromSeconds(5));
            Assert.Equal(StatusCodes.BadTimeout, (await Assert.ThrowsAsync<UaException>(() => open)).Status);
        }
        else
        {
            await stop.CancelAsync();
            await Assert.ThrowsAnyAsync<OperationCanceledException>(() => open);
        }

        var rest = new byte[1000];
        while (await accepted.ReceiveAsync(rest, TestContext.Current.CancellationToken) > 0)
        {
        }
    }

    /// <summary>More than the buffers of both ends hold, to a server that reads nothing for now.</summary>
    [Fact]
    public async Task Large_requests_wait_for_a_slow_server_without_blocking_their_callers()
    {
        await using var pair = await ChannelPair.OverSocketsAsync(ChannelPair.ClientOptions(), ChannelPair.ServerOptions());
        var reads = Enumerable.Range(0, 60).Select(_ => pair.ReadAsync(20_000, TimeSpan.FromMinutes(5))).ToArray();
        Assert.DoesNotContain(reads, read => read.IsCompleted);

        var serving = pair.ServeAsync();

        Assert.All(await Task.WhenAll(reads), read => Assert.Equal(20_000, read.Body.Results.Count));
        await pair.Client.DisposeAsync();
        await serving;
    }

    [Fact]
    public async Task A_publish_request_is_not_waited_for_on_its_callers_thread()
    {
        await using var pair = await ChannelPair.OverSocketsAsync(ChannelPair.ClientOptions(), ChannelPair.ServerOptions());

        var publish = pair.Client.RequestAsync<PublishRequest, PublishResponse>(new PublishRequest([]), NodeId.Null, Timeout.InfiniteTimeSpan, default);

        Assert.False(publish.IsCompleted);
        using var request = await pair.ReceiveAsync();
        await pair.Server.SendFaultAsync(request.RequestId, request.Header.Handle, StatusCodes.BadNoSubscription, TestContext.Current.CancellationToken);
        Assert.Equal(StatusCodes.BadNoSubscription, (await Assert.ThrowsAsync<UaServiceException>(() => publish.AsTask())).Status);
    }

    private static Uri EndpointOf(TcpListener listener) => new($"opc.tcp://127.0.0.1:{((IPEndPoint)listener.LocalEndpoint).Port}");
}
