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
    private readonly Dictionary<(string Address, string? User), Failures> table = [];

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
            table.Remove((address, user));
        }
    }

    private bool IsLockedOut((string, string?) key, int max) =>
        table.TryGetValue(key, out var failures) && failures.Count >= max && !IsOver(failures);

    private bool IsOver(Failures failures) => time.GetElapsedTime(failures.Last) >= limits.LoginLockout;

    private int Increment((string, string?) key)
    {
        var count = table.TryGetValue(key, out var known) && !IsOver(known) ? known.Count + 1 : 1;
        if (known is null && table.Count >= MaxEntries)
        {
            MakeRoom();
        }

        table[key] = new Failures(count, time.GetTimestamp());
        return count;
    }

    /// <summary>What is over goes, else what is oldest.</summary>
    private void MakeRoom()
    {
        foreach (var (key, failures) in table)
        {
            if (IsOver(failures))
            {
                table.Remove(key);
            }
        }

        while (table.Count >= MaxEntries)
        {
            table.Remove(table.MinBy(static entry => entry.Value.Last).Key);
        }
    }

    private sealed record Failures(int Count, long Last);
}
