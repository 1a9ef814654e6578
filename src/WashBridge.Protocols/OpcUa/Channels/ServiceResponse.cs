namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>The answer to a request. What it tells was looked up by the server between <paramref name="Sent"/> and <paramref name="Received"/>.</summary>
/// <param name="Body">Good as a whole; its parts may have bad results of their own.</param>
/// <param name="ServerTime">UTC by the server's clock, when it sent the response.</param>
/// <param name="Sent">Stamp of the TimeProvider, taken before the last byte of the request was given to the network.</param>
/// <param name="Received">Stamp of the TimeProvider, taken after the first byte of the response came.</param>
public readonly record struct ServiceResponse<T>(T Body, DateTime ServerTime, long Sent, long Received);
