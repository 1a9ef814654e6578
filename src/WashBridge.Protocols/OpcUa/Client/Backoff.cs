namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// How long to wait before the next attempt to connect. The first is made at once, the next ones soon, then once a second or so for ten minutes, so that a
/// server that restarts is found at once; later more rarely. What only a person can change is tried more rarely still.
/// </summary>
internal sealed class Backoff(UaClientOptions options, Random jitter, TimeProvider time)
{
    /// <summary>A server that is just starting may refuse for a moment what it takes later.</summary>
    private const int PassingRefusals = 3;

    private static readonly TimeSpan FirstWait = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(10);
    private long? since;
    private int failures;
    private int refusals;

    public int Attempts => failures;

    /// <summary>True if the server has refused often enough to believe it.</summary>
    public bool IsRefused => refusals > PassingRefusals;

    public void Succeeded() => (since, failures, refusals) = (null, 0, 0);

    /// <param name="wasConnected">A server that once took us may only be restarting.</param>
    public TimeSpan Next(UaException failure, bool wasConnected)
    {
        since ??= time.GetTimestamp();
        failures++;
        refusals = SessionLoss.NeedsPerson(failure.Status) ? refusals + (wasConnected ? 1 : PassingRefusals + 1) : 0;
        if (IsRefused)
        {
            return Jittered(options.RefusedRetryInterval);
        }

        var most = time.GetElapsedTime(since.Value) < Patience ? options.MaxRetryInterval : 5 * options.MaxRetryInterval;
        var wait = FirstWait * Math.Pow(2, Math.Min(failures - 1, 20));
        return Jittered(wait < most ? wait : most);
    }

    /// <summary>80 to 100 percent: clients that lost the same server do not all come back at once, and none waits longer than allowed.</summary>
    private TimeSpan Jittered(TimeSpan wait) => wait * (0.8 + (0.2 * jitter.NextDouble()));
}
