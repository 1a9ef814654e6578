using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Time-outs, late and stray answers, cancellation, lost connections.</summary>
public sealed class FailureTests
{
    private readonly FakeTimeProvider time = new();

    [Fact]
    public async Task A_request_times_out_on_its_own_and_its_late_answer_is_dropped()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);
        var patient = Read(client, TimeSpan.FromSeconds(60));
        var hasty = Read(client, TimeSpan.FromSeconds(3));
        var first = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));
        var second = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));

        time.Advance(TimeSpan.FromSeconds(2.9));
        Assert.False(hasty.IsCompleted);
        time.Advance(TimeSpan.FromSeconds(0.1));

        var late = await Assert.ThrowsAsync<UaException>(() => hasty);
        Assert.Equal(StatusCodes.BadTimeout, late.Status);
        Assert.Contains("Read within 3000 ms", late.Message, StringComparison.Ordinal);
        await server.AnswerReadAsync(second, 8);
        await server.AnswerReadAsync(first, 9);
        Assert.Equal(9u, (await patient).Body.Results[0].Value.Value);
        Assert.Equal(1, client.LateAnswers);
        Assert.Equal(0, client.StrayAnswers);
        await client.DisposeAsync();
    }

    [Fact]
    public async Task Each_request_keeps_its_own_time_out_however_they_follow_each_other()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);
        int[] seconds = [9, 2, 5, 1, 7];
        var reads = seconds.Select(s => Read(client, TimeSpan.FromSeconds(s))).ToArray();
        for (var i = 0; i < seconds.Length; i++)
        {
            await server.ReceiveAsync("MSG");
        }

        foreach (var due in seconds.Order())
        {
            Assert.False(reads[Array.IndexOf(seconds, due)].IsCompleted);
            time.Advance(TimeSpan.FromSeconds(due) - (time.GetUtcNow() - time.Start));
            await Assert.ThrowsAsync<UaException>(() => reads[Array.IndexOf(seconds, due)]);
            Assert.Equal(seconds.Count(s => s > due), reads.Count(read => !read.IsCompleted));
        }

        await client.DisposeAsync();
    }

    [Fact]
    public async Task A_cancelled_request_is_given_up_at_once_and_others_go_on()
    {
        using var stop = new CancellationTokenSource();
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);
        var given = Read(client, Timeout.InfiniteTimeSpan, stop.Token);
        var kept = Read(client, Timeout.InfiniteTimeSpan);
        var first = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));
        var second = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));

        await stop.CancelAsync();

        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => given);
        await server.AnswerReadAsync(first, 1);
        await server.AnswerReadAsync(second, 2);
        Assert.Equal(2u, (await kept).Body.Results[0].Value.Value);
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => Read(client, Timeout.InfiniteTimeSpan, stop.Token));
        Assert.Equal(1, client.LateAnswers);
        await client.DisposeAsync();
    }

    [Fact]
    public async Task Answers_come_in_any_order()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);
        var reads = Enumerable.Range(0, 20).Select(_ => Read(client, Timeout.InfiniteTimeSpan)).ToArray();
        var requests = new List<uint>();
        foreach (var _ in reads)
        {
            requests.Add(RawPeer.RequestOf(await server.ReceiveAsync("MSG")));
        }

        foreach (var i in Enumerable.Range(0, 20).OrderBy(i => i * 7 % 20))
        {
            await server.AnswerReadAsync(requests[i], (uint)(100 + i));
        }

        var answers = await Task.WhenAll(reads);
        Assert.Equal(Enumerable.Range(100, 20).Select(i => (object)(uint)i), answers.Select(a => a.Body.Results[0].Value.Value));
        await client.DisposeAsync();
    }

    [Fact]
    public async Task A_server_that_keeps_answering_what_nobody_asked_is_left()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);
        for (uint i = 0; i < 15; i++)
        {
            await server.AnswerReadAsync(5000 + i, 1);
        }

        var read = Read(client, Timeout.InfiniteTimeSpan);
        await server.AnswerReadAsync(RawPeer.RequestOf(await server.ReceiveAsync("MSG")), 1);
        await read; // a good one: the count begins anew
        Assert.Equal(15, client.StrayAnswers);
        for (uint i = 0; i < 16; i++)
        {
            await server.AnswerReadAsync(6000 + i, 1);
        }

        Assert.Equal(StatusCodes.BadUnknownResponse, (await client.Closed.Soon()).Status);
    }

    [Fact]
    public async Task A_lost_connection_fails_every_request_with_the_first_cause()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);
        var reads = Enumerable.Range(0, 3).Select(_ => Read(client, Timeout.InfiniteTimeSpan)).ToArray();
        foreach (var _ in reads)
        {
            await server.ReceiveAsync("MSG");
        }

        await server.SendAsync("ERRF", w =>
        {
            w.WriteStatusCode(StatusCodes.BadShutdown);
            w.WriteString("cleaning day");
        });
        server.Close();

        var cause = await client.Closed.Soon();
        Assert.Equal(StatusCodes.BadShutdown, cause.Status);
        foreach (var read in reads.Append(Read(client, Timeout.InfiniteTimeSpan)))
        {
            var failed = await Assert.ThrowsAsync<UaException>(() => read);
            Assert.Equal(StatusCodes.BadShutdown, failed.Status);
            Assert.Contains("cleaning day", failed.Message, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_server_that_hangs_up_is_noticed_without_any_request()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);

        server.Close();

        Assert.Equal(StatusCodes.BadConnectionClosed, (await client.Closed.Soon()).Status);
    }

    [Fact]
    public async Task A_fault_is_told_as_such_and_the_channel_remains()
    {
        await using var pair = await ChannelPair.OpenAsync(time: time);
        var read = pair.ReadAsync();
        using (var request = await pair.ReceiveAsync())
        {
            await pair.Server.SendFaultAsync(request.RequestId, request.Header.Handle, StatusCodes.BadSessionIdInvalid, TestContext.Current.CancellationToken);
        }

        Assert.Equal(StatusCodes.BadSessionIdInvalid, (await Assert.ThrowsAsync<UaServiceException>(() => read)).Status);
        var second = pair.ReadAsync();
        using (var request = await pair.ReceiveAsync())
        {
            await pair.AnswerAsync(request);
        }

        await second;
    }

    [Fact]
    public async Task An_answer_of_another_kind_fails_its_request_alone()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time);
        var (first, second, third) = (Read(client, Timeout.InfiniteTimeSpan), Read(client, Timeout.InfiniteTimeSpan), Read(client, Timeout.InfiniteTimeSpan));
        await server.SendChunkAsync("MSGF", RawPeer.RequestOf(await server.ReceiveAsync("MSG")), w =>
        {
            w.WriteNodeId(new NodeId(CloseSessionResponse.EncodingId));
            new ResponseHeader(default, 0, StatusCodes.Good).Write(w);
        });
        await server.SendChunkAsync("MSGF", RawPeer.RequestOf(await server.ReceiveAsync("MSG")), w => w.WriteByte(0x77));
        await server.AnswerReadAsync(RawPeer.RequestOf(await server.ReceiveAsync("MSG")), 3);

        Assert.Equal(StatusCodes.BadUnknownResponse, (await Assert.ThrowsAsync<UaException>(() => first)).Status);
        Assert.Equal(StatusCodes.BadDecodingError, (await Assert.ThrowsAsync<UaException>(() => second)).Status);
        Assert.Equal(3u, (await third).Body.Results[0].Value.Value);
        await client.DisposeAsync();
    }

    /// <summary>Whoever is called back may ask again, or block: the channel goes on receiving on another thread.</summary>
    [Fact]
    public async Task A_caller_that_blocks_within_its_continuation_blocks_nobody_else()
    {
        await using var pair = await ChannelPair.OpenAsync();
        var serving = pair.ServeAsync();
        var read = pair.Client.RequestAsync<ReadRequest, ReadResponse>(Messages.Read(1), NodeId.Null, Timeout.InfiniteTimeSpan, default);

        var nested = await Task.Run(async () =>
        {
            await read.ConfigureAwait(false);
#pragma warning disable xUnit1031 // This is what the test is about.
            return pair.ReadAsync(2).GetAwaiter().GetResult();
#pragma warning restore xUnit1031
        });

        Assert.Equal(2, nested.Body.Results.Count);
        await pair.Client.DisposeAsync();
        await serving;
    }

    [Fact]
    public async Task Requests_time_out_while_the_server_takes_nothing()
    {
        var connection = MemoryConnection.Create();
        await using var pair = await ChannelPair.OpenAsync(connection, ChannelPair.ClientOptions(), ChannelPair.ServerOptions(), time);
        var stalled = new TaskCompletionSource();
        connection.Client.Stalled = stalled.Task;
        var (first, second) = (pair.ReadAsync(1, TimeSpan.FromSeconds(3)), pair.ReadAsync(2, TimeSpan.FromSeconds(3)));

        time.Advance(TimeSpan.FromSeconds(3));

        Assert.Equal(StatusCodes.BadTimeout, (await Assert.ThrowsAsync<UaException>(() => first)).Status);
        Assert.Equal(StatusCodes.BadTimeout, (await Assert.ThrowsAsync<UaException>(() => second)).Status);

        // The first had been given to the network already; the second is not sent any more.
        stalled.SetResult();
        var third = pair.ReadAsync(3, TimeSpan.FromSeconds(3));
        using var sent = await pair.ReceiveAsync();
        using var next = await pair.ReceiveAsync();
        Assert.Single(sent.ReadBody<ReadRequest>().Nodes);
        Assert.Equal(3, next.ReadBody<ReadRequest>().Nodes.Count);
        await pair.AnswerAsync(next);
        await third;
    }

    [Fact]
    public async Task A_client_that_takes_nothing_is_given_up()
    {
        var connection = MemoryConnection.Create();
        await using var pair = await ChannelPair.OpenAsync(connection, ChannelPair.ClientOptions(), ChannelPair.ServerOptions(), time);
        connection.Server.Stalled = new TaskCompletionSource().Task;
        var receive = pair.Server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
        var send = pair.Server.SendFaultAsync(1, 1, StatusCodes.BadNothingToDo, TestContext.Current.CancellationToken).AsTask();

        time.Advance(TimeSpan.FromSeconds(10));

        Assert.Equal(StatusCodes.BadTimeout, (await pair.Server.Closed.Soon()).Status);
        Assert.Null(await receive.Soon());
        Assert.False(send.IsCompleted && send.IsCompletedSuccessfully);
    }

    [Fact]
    public async Task Closing_says_goodbye()
    {
        await using var pair = await ChannelPair.OpenAsync(time: time);
        var receive = pair.Server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();

        await pair.Client.DisposeAsync();

        Assert.Null(await receive.Soon());
        Assert.Equal(StatusCodes.BadSecureChannelClosed, (await pair.Server.Closed.Soon()).Status);
        Assert.Equal(StatusCodes.BadConnectionClosed, (await pair.Client.Closed.Soon()).Status);
        Assert.Null(await pair.Server.ReceiveAsync(TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task A_server_that_closes_tells_the_client_why()
    {
        await using var pair = await ChannelPair.OverSocketsAsync(ChannelPair.ClientOptions(), ChannelPair.ServerOptions());

        await pair.Server.CloseAsync(StatusCodes.BadShutdown);

        Assert.Equal(StatusCodes.BadShutdown, (await pair.Client.Closed.Soon()).Status);
    }

    [Fact]
    public async Task Receiving_may_be_cancelled_and_taken_up_again()
    {
        using var stop = new CancellationTokenSource();
        await using var pair = await ChannelPair.OpenAsync(time: time);
        var cancelled = pair.Server.ReceiveAsync(stop.Token).AsTask();
        await stop.CancelAsync();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => cancelled);

        var read = pair.ReadAsync();
        using var request = await pair.ReceiveAsync();
        await pair.AnswerAsync(request);

        await read;
    }

    private static Task<ServiceResponse<ReadResponse>> Read(ClientChannel client, TimeSpan timeout, CancellationToken cancellation = default) =>
        client.RequestAsync<ReadRequest, ReadResponse>(Messages.Read(1), NodeId.Null, timeout, cancellation).AsTask();
}
