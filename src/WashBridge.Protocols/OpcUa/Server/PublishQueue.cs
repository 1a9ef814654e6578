using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>A publish request that waits for something to tell.</summary>
/// <param name="Deadline">On the monotonic clock: when the client gives up. Null: never.</param>
/// <param name="Results">Of its acknowledgements.</param>
internal sealed record PendingPublish(IServerConnection Connection, uint RequestId, uint Handle, long? Deadline, IReadOnlyList<StatusCode> Results)
{
    public void Answer(PublishResponse body, DateTime now) => Connection.Post(RequestId, new ResponseHeader(now, Handle, StatusCodes.Good), body);

    public void Fail(StatusCode status, DateTime now) => Connection.Post(RequestId, new ResponseHeader(now, Handle, status), new ServiceFault());
}

/// <summary>The publish requests of a session, which all its subscriptions share (OPC 10000-4, 5.14.1.2).</summary>
internal sealed class PublishQueue(int capacity, TimeProvider time)
{
    private readonly LinkedList<PendingPublish> requests = [];

    public int Count => requests.Count;

    private DateTime Now => time.GetUtcNow().UtcDateTime;

    /// <summary>Adds a request; the oldest gives way if there are too many (OPC 10000-4, 5.14.5.1).</summary>
    public void Enqueue(PendingPublish request)
    {
        if (requests.Count == capacity)
        {
            Dequeue().Fail(StatusCodes.BadTooManyPublishRequests, Now);
        }

        requests.AddLast(request);
    }

    public PendingPublish Dequeue()
    {
        var first = requests.First!.Value;
        requests.RemoveFirst();
        return first;
    }

    public void FailAll(StatusCode status)
    {
        while (requests.Count > 0)
        {
            Dequeue().Fail(status, Now);
        }
    }

    /// <summary>Answers requests that their clients have given up.</summary>
    public void Expire()
    {
        var instant = time.GetTimestamp();
        for (var node = requests.First; node is not null;)
        {
            var next = node.Next;
            if (node.Value.Deadline <= instant)
            {
                requests.Remove(node);
                node.Value.Fail(StatusCodes.BadTimeout, Now);
            }

            node = next;
        }
    }

    /// <summary>Answers the requests with that handle (OPC 10000-4, 5.7.5).</summary>
    /// <returns>How many.</returns>
    public uint Cancel(uint handle)
    {
        uint cancelled = 0;
        for (var node = requests.First; node is not null;)
        {
            var next = node.Next;
            if (node.Value.Handle == handle)
            {
                requests.Remove(node);
                node.Value.Fail(StatusCodes.BadRequestCancelledByClient, Now);
                cancelled++;
            }

            node = next;
        }

        return cancelled;
    }

    /// <summary>Forgets the requests of a connection that has ended: nobody can be answered there.</summary>
    public void Forget(IServerConnection connection)
    {
        for (var node = requests.First; node is not null;)
        {
            var next = node.Next;
            if (node.Value.Connection == connection)
            {
                requests.Remove(node);
            }

            node = next;
        }
    }
}
