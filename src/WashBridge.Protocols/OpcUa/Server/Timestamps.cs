using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Which of a value's times a client wants (OPC 10000-4, 7.40).</summary>
internal static class Timestamps
{
    public static bool IsValid(TimestampsToReturn wanted) => wanted is >= TimestampsToReturn.Source and <= TimestampsToReturn.Neither;

    public static DataValue Select(in DataValue value, TimestampsToReturn wanted) => wanted switch
    {
        TimestampsToReturn.Both => value,
        TimestampsToReturn.Source => value with { ServerTimestamp = null, ServerPicoseconds = 0 },
        TimestampsToReturn.Server => value with { SourceTimestamp = null, SourcePicoseconds = 0 },
        _ => value with { SourceTimestamp = null, SourcePicoseconds = 0, ServerTimestamp = null, ServerPicoseconds = 0 },
    };
}
