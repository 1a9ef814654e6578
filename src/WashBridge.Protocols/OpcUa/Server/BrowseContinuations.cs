using System.Buffers.Binary;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Where a browse stopped (OPC 10000-4, 7.6). Keeps no references: it goes on by their sequence numbers.</summary>
internal sealed record BrowseContinuation(UaNode Node, BrowseDescription Wanted, UaType? ReferenceType, int Sequence, int Max);

/// <summary>
/// The unfinished browses of one session. Those of earlier requests give way to a new request; within one request there is no more than the
/// limit (OPC 10000-4, 7.6).
/// </summary>
internal sealed class BrowseContinuations(int capacity)
{
    private readonly Lock gate = new();
    private readonly LinkedList<(ulong Id, uint Request, BrowseContinuation Point)> points = [];
    private ulong lastId;
    private uint lastRequest;

    public int Count
    {
        get
        {
            lock (gate)
            {
                return points.Count;
            }
        }
    }

    /// <summary>The number of a request that may need points.</summary>
    public uint BeginRequest() => Interlocked.Increment(ref lastRequest);

    /// <returns>Null: this request holds all points that there are.</returns>
    public byte[]? TryAdd(uint request, BrowseContinuation point)
    {
        lock (gate)
        {
            if (points.Count == capacity)
            {
                if (points.First!.Value.Request == request)
                {
                    return null;
                }

                points.RemoveFirst();
            }

            points.AddLast((++lastId, request, point));
            var bytes = new byte[sizeof(ulong)];
            BinaryPrimitives.WriteUInt64LittleEndian(bytes, lastId);
            return bytes;
        }
    }

    /// <summary>Takes a point out: each can be used once.</summary>
    public BrowseContinuation? Take(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length != sizeof(ulong))
        {
            return null;
        }

        var id = BinaryPrimitives.ReadUInt64LittleEndian(bytes);
        lock (gate)
        {
            for (var node = points.First; node is not null; node = node.Next)
            {
                if (node.Value.Id == id)
                {
                    points.Remove(node);
                    return node.Value.Point;
                }
            }
        }

        return null;
    }
}
