namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// Makes guessing of passwords slow: failures delay the answer, and too many lock out for a while, whatever the password. Counted for each user
/// at each address, so that nobody can lock out a user from elsewhere, and for each address over all users.
/// </summary>
internal sealed class LoginGuard(UaServerLimits limits, TimeProvider time)
{
    /// <summary>What an address may fail with all its users, as a multiple of what it may with one.</summary>
    private const int UsersPerAddress = 4;

    private const int MaxEntries = 10_000;
    private const int MaxDoublings = 4;

    private readonly Lock gate = new();
    private readonly Dictionary<(string Address, string? User), LinkedListNode<Failures>> table = [];

    /// <summary>The entries of the table, whose last failure is longest ago first.</summary>
    private readonly LinkedList<Failures> order = [];

    /// <summary>Entries of the table.</summary>
    public int Count
    {
        get
        {
            lock (gate)
            {
                return table.Count;
            }
        }
    }

    /// <summary>Whether a login is judged at all.</summary>
    public bool IsLockedOut(string address, string user)
    {
        lock (gate)
        {
            return IsLockedOut((address, user), limits.MaxLoginFailures) || IsLockedOut((address, null), limits.MaxLoginFailures * UsersPerAddress);
        }
    }

    /// <summary>Counts a failure.</summary>
    /// <returns>How long to wait with the answer.</returns>
    public TimeSpan Failed(string address, string user)
    {
        lock (gate)
        {
            Increment((address, null));
            var failures = Increment((address, user));
            return limits.LoginDelay * (1 << Math.Min(failures - 1, MaxDoublings));
        }
    }

    public void Succeeded(string address, string user)
    {
        lock (gate)
        {
            if (table.TryGetValue((address, user), out var known))
            {
                Remove(known);
            }
        }
    }

    private bool IsLockedOut((string, string?) key, int max) =>
        table.TryGetValue(key, out var known) && known.Value.Count >= max && !IsOver(known.Value);

    private bool IsOver(Failures failures) => time.GetElapsedTime(failures.Last) >= limits.LoginLockout;

    private int Increment((string, string?) key)
    {
        while (order.First is { } oldest && IsOver(oldest.Value))
        {
            Remove(oldest);
        }

        var count = 1;
        if (table.TryGetValue(key, out var known))
        {
            count += known.Value.Count;
            Remove(known);
        }
        else if (table.Count >= MaxEntries)
        {
            Remove(order.First!);
        }

        table.Add(key, order.AddLast(new Failures(key, count, time.GetTimestamp())));
        return count;
    }

    private void Remove(LinkedListNode<Failures> entry)
    {
        table.Remove(entry.Value.Key);
        order.Remove(entry);
    }

    private sealed record Failures((string Address, string? User) Key, int Count, long Last);
}
