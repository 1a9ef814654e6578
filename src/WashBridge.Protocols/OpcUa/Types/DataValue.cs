namespace WashBridge.Protocols.OpcUa;

/// <summary>A value with its quality and times (OPC 10000-4, 7.11).</summary>
/// <param name="SourceTimestamp">UTC; when the value or its status last changed at its source. Null: not told.</param>
/// <param name="ServerTimestamp">UTC; when the server last knew the value to be so. Null: not told.</param>
/// <param name="SourcePicoseconds">Tens of picoseconds to add, 0 to 9999.</param>
/// <param name="ServerPicoseconds">Tens of picoseconds to add, 0 to 9999.</param>
public readonly record struct DataValue(
    Variant Value,
    StatusCode Status = default,
    DateTime? SourceTimestamp = null,
    DateTime? ServerTimestamp = null,
    ushort SourcePicoseconds = 0,
    ushort ServerPicoseconds = 0);
