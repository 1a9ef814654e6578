using System.Threading.Tasks.Sources;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>A request on its way. Whoever takes it out of the channel's list, and nobody else, completes it.</summary>
internal abstract class PendingRequest(ClientChannel channel)
{
    private static readonly Action<object?, CancellationToken> OnCancelled = static (state, token) => ((PendingRequest)state!).Cancel(token);

    private CancellationTokenRegistration cancellation;

    public uint Id { get; set; }

    public string Service { get; protected init; } = "";

    /// <summary>Stamp of the TimeProvider.</summary>
    public long Deadline { get; set; }

    public TimeSpan Timeout { get; set; }

    /// <summary>Stamp of the TimeProvider; 0 until it is sent.</summary>
    public long Sent { get; set; }

    /// <summary>Somebody has registered to be called back.</summary>
    public bool IsAwaited { get; set; }

    /// <summary>False for a publish request, which is answered when there is something to tell.</summary>
    public bool IsAnsweredSoon { get; protected init; } = true;

    protected ClientChannel Channel { get; } = channel;

    public void AbandonWhen(CancellationToken cancelled)
    {
        if (cancelled.CanBeCanceled)
        {
            cancellation = cancelled.UnsafeRegister(OnCancelled, this);
        }
    }

    /// <summary>Decodes the answer from where it was received. Nobody is told before <see cref="Complete"/>.</summary>
    public void TakeAnswer(ReadOnlySpan<byte> message, DecodingLimits limits, long received)
    {
        try
        {
            var reader = new UaReader(message, limits);
            var type = reader.ReadNodeId();
            var header = ResponseHeader.Read(ref reader);
            if (type == new NodeId(ServiceFault.EncodingId) || header.ServiceResult.IsBad)
            {
                TakeFailure(new UaServiceException(header.ServiceResult, $"the server refused {Service}"));
            }
            else
            {
                TakeBody(type, header, ref reader, received);
            }
        }
        catch (UaException e)
        {
            TakeFailure(new UaException(e.Status, $"the answer to {Service} cannot be decoded: {e.Message}", e));
        }
    }

    public abstract void TakeFailure(Exception reason);

    /// <summary>Tells the caller, who continues on a thread of the pool.</summary>
    public void Complete()
    {
        cancellation.Unregister();
        Tell();
    }

    protected abstract void Tell();

    protected abstract void TakeBody(NodeId type, ResponseHeader header, ref UaReader reader, long received);

    private void Cancel(CancellationToken token) => Channel.Abandon(this, new OperationCanceledException(token));
}

/// <inheritdoc/>
internal sealed class PendingRequest<T> : PendingRequest, IValueTaskSource<ServiceResponse<T>>
    where T : IEncodable<T>
{
    /// <summary>Callers never run on the thread that receives, nor on one that holds the channel's lock.</summary>
    private ManualResetValueTaskSourceCore<ServiceResponse<T>> core = new() { RunContinuationsAsynchronously = true };
    private ServiceResponse<T> response;
    private Exception? failure;

    public PendingRequest(ClientChannel channel)
        : base(channel)
    {
        Service = ServiceName;
        IsAnsweredSoon = typeof(T) != typeof(PublishResponse);
    }

    public ValueTask<ServiceResponse<T>> Task => new(this, core.Version);

    private static string ServiceName { get; } = typeof(T).Name.Replace("Response", "", StringComparison.Ordinal);

    public override void TakeFailure(Exception reason) => failure = reason;

    public ServiceResponse<T> GetResult(short token) => core.GetResult(token);

    public ValueTaskSourceStatus GetStatus(short token)
    {
        var status = core.GetStatus(token);
        return status == ValueTaskSourceStatus.Pending && Channel.TryReceiveNow(this) ? core.GetStatus(token) : status;
    }

    public void OnCompleted(Action<object?> continuation, object? state, short token, ValueTaskSourceOnCompletedFlags flags)
    {
        core.OnCompleted(continuation, state, token, flags);
        Channel.Await(this);
    }

    protected override void Tell()
    {
        if (failure is null)
        {
            core.SetResult(response);
        }
        else
        {
            core.SetException(failure);
        }
    }

    protected override void TakeBody(NodeId type, ResponseHeader header, ref UaReader reader, long received)
    {
        if (type == new NodeId(T.EncodingId))
        {
            response = new ServiceResponse<T>(T.Read(ref reader), header.Timestamp, Sent, received);
        }
        else
        {
            failure = new UaException(StatusCodes.BadUnknownResponse, $"{Service} was answered by a message of type {type} instead of i={T.EncodingId}");
        }
    }
}
