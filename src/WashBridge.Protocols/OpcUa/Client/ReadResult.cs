namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Values of one read, in the order asked for, each with its own status.</summary>
/// <param name="Values">One for each node.</param>
/// <param name="ServerTime">UTC; the server's clock when it answered; the last answer's if there were several.</param>
/// <param name="Sent">Stamp of the <see cref="TimeProvider"/>, when the first request had been sent.</param>
/// <param name="Received">Stamp of the <see cref="TimeProvider"/>, when the last answer began to arrive. The values held at some moment between the two.</param>
public readonly record struct ReadResult(IReadOnlyList<DataValue> Values, DateTime ServerTime, long Sent, long Received);
