using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>The service Read (OPC 10000-4, 5.11.2).</summary>
internal sealed class ReadService(AddressSpace space, UaServerLimits limits, TimeProvider time)
{
    /// <exception cref="UaException">BadNothingToDo, BadTooManyOperations, BadMaxAgeInvalid or BadTimestampsToReturnInvalid.</exception>
    public ReadResponse Read(ReadRequest request)
    {
        Operations.Check(request.Nodes.Count, limits.MaxNodesPerRead);
        if (!(request.MaxAge >= 0))
        {
            throw new UaException(StatusCodes.BadMaxAgeInvalid, $"a maximal age of {request.MaxAge} ms; allowed: 0 or more");
        }

        if (!Timestamps.IsValid(request.Timestamps))
        {
            throw new UaException(StatusCodes.BadTimestampsToReturnInvalid, $"timestamps {request.Timestamps}; allowed: 0 to 3");
        }

        space.Refreshing?.Invoke();

        // Values are pushed to the server: what it has is as new as can be, whatever age is allowed, and is known to hold now.
        var now = time.GetUtcNow().UtcDateTime;
        var results = new DataValue[request.Nodes.Count];
        for (var i = 0; i < results.Length; i++)
        {
            results[i] = Timestamps.Select(Read(request.Nodes[i]) with { ServerTimestamp = now }, request.Timestamps);
        }

        return new ReadResponse(results);
    }

    private DataValue Read(in ReadValueId wanted) => IndexRange.TryParse(wanted.IndexRange, out var range)
        ? AttributeReader.Read(space, wanted, range)
        : new DataValue(default, StatusCodes.BadIndexRangeInvalid);
}
