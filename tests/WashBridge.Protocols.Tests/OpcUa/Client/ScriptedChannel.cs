using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>A channel to a <see cref="ScriptedServer"/>: answers after its latency, never once it is stalled, with the cause once it is broken.</summary>
internal sealed class ScriptedChannel(ScriptedServer server, ChannelTarget target, TimeProvider time) : IServiceChannel
{
    private readonly TaskCompletionSource<UaException> closed = new();
    private readonly List<Action<UaException>> waiting = [];

    public ChannelTarget Target => target;

    public SecurityPolicy Policy => target.Policy;

    public MessageSecurityMode Mode => target.Mode;

    public Task<UaException> Closed => closed.Task;

    public bool IsOpen => !closed.Task.IsCompleted;

    /// <summary>Neither reads nor writes any more, but stays open.</summary>
    public bool IsStalled { get; set; }

    public void Break(StatusCode status) => Close(new UaException(status, "the connection was cut by the test"));

    public ValueTask DisposeAsync()
    {
        Close(new UaException(StatusCodes.BadConnectionClosed, "closed on this side"));
        return default;
    }

    public async ValueTask<ServiceResponse<TResponse>> RequestAsync<TRequest, TResponse>(TRequest body, NodeId authenticationToken, TimeSpan timeout, CancellationToken cancellation)
        where TRequest : IRequest<TRequest, TResponse>
        where TResponse : IEncodable<TResponse>
    {
        if (!IsOpen)
        {
            throw new UaException((await Closed).Status, "no connection");
        }

        var answer = new TaskCompletionSource<object>();
        void Fail(UaException cause) => answer.TrySetException(cause);
        waiting.Add(Fail);
        using var cancelled = cancellation.Register(() => answer.TrySetCanceled(cancellation));
        using var expiry = time.CreateTimer(_ => Fail(new UaException(StatusCodes.BadTimeout, $"no answer to {typeof(TRequest).Name} within {timeout}")), null, timeout, Timeout.InfiniteTimeSpan);
        var sent = time.GetTimestamp();
        await DelayAsync();
        if (!IsStalled)
        {
            server.Take(this, body, authenticationToken, given => answer.TrySetResult(given));
        }

        try
        {
            var given = await answer.Task;
            await DelayAsync();
            given = IsOpen && !IsStalled ? given : await LostAsync(timeout, cancellation);
            return given is Exception refusal ? throw refusal : new ServiceResponse<TResponse>((TResponse)given, server.Now, sent, time.GetTimestamp());
        }
        finally
        {
            waiting.Remove(Fail);
        }
    }

    /// <summary>An answer that does not arrive: until the channel is broken, or the time is up.</summary>
    private async Task<object> LostAsync(TimeSpan timeout, CancellationToken cancellation)
    {
        try
        {
            throw new UaException((await Closed.WaitAsync(timeout, time, cancellation)).Status, "no connection");
        }
        catch (TimeoutException)
        {
            throw new UaException(StatusCodes.BadTimeout, $"no answer within {timeout}");
        }
    }

    private Task DelayAsync() => server.Latency > TimeSpan.Zero ? Task.Delay(server.Latency / 2, time) : Task.CompletedTask;

    private void Close(UaException cause)
    {
        if (closed.TrySetResult(cause))
        {
            foreach (var fail in waiting.ToArray())
            {
                fail(cause);
            }
        }
    }
}
