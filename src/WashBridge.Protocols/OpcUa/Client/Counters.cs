namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Written by several threads.</summary>
internal sealed class Counters
{
    private long connections;
    private long sessions;
    private long subscriptions;
    private long transfers;
    private long messages;
    private long values;
    private long republished;
    private long lost;
    private long overflows;

    public void AddConnection() => Interlocked.Increment(ref connections);

    public void AddSession() => Interlocked.Increment(ref sessions);

    public void AddSubscription() => Interlocked.Increment(ref subscriptions);

    public void AddTransfer() => Interlocked.Increment(ref transfers);

    public void AddMessage(int count, int overflown)
    {
        Interlocked.Increment(ref messages);
        Interlocked.Add(ref values, count);
        if (overflown > 0)
        {
            Interlocked.Add(ref overflows, overflown);
        }
    }

    public void AddRepublished() => Interlocked.Increment(ref republished);

    public void AddLost(long count) => Interlocked.Add(ref lost, count);

    public UaConnectionCounters ToPublic() => new(
        Interlocked.Read(ref connections),
        Interlocked.Read(ref sessions),
        Interlocked.Read(ref subscriptions),
        Interlocked.Read(ref transfers),
        Interlocked.Read(ref messages),
        Interlocked.Read(ref values),
        Interlocked.Read(ref republished),
        Interlocked.Read(ref lost),
        Interlocked.Read(ref overflows));
}
