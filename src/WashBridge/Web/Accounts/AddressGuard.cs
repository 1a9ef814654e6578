using System.Net;

namespace WashBridge.Web.Accounts;

/// <summary>Counts wrong passwords and tokens from each address, over all names, and locks the address out for a while. Bounded: what failed longest ago is forgotten first.</summary>
internal sealed class AddressGuard(TimeProvider time)
{
    private const int MostEntries = 10_000;
    private static readonly TimeSpan ForgottenAfter = TimeSpan.FromDays(1);

    private readonly Lock _gate = new();
    private readonly Dictionary<IPAddress, LinkedListNode<Failures>> _table = [];
    private readonly LinkedList<Failures> _order = [];

    public bool IsLockedOut(IPAddress? address)
    {
        lock (_gate)
        {
            return _table.TryGetValue(Key(address), out var known) && time.GetElapsedTime(known.Value.Last) < Lockouts.AfterAddressFailures(known.Value.Count);
        }
    }

    /// <returns>How long nobody gets in from there; zero: not locked out.</returns>
    public TimeSpan Failed(IPAddress? address)
    {
        var key = Key(address);
        lock (_gate)
        {
            while (_order.First is { } oldest && (time.GetElapsedTime(oldest.Value.Last) > ForgottenAfter || _table.Count >= MostEntries))
            {
                Remove(oldest);
            }

            var count = 1;
            if (_table.TryGetValue(key, out var known))
            {
                count += known.Value.Count;
                Remove(known);
            }

            _table.Add(key, _order.AddLast(new Failures(key, count, time.GetTimestamp())));
            return Lockouts.AfterAddressFailures(count);
        }
    }

    public void Succeeded(IPAddress? address)
    {
        lock (_gate)
        {
            if (_table.TryGetValue(Key(address), out var known))
            {
                Remove(known);
            }
        }
    }

    /// <summary>Who has one IPv6 address has all of its network of 64 bits (RFC 4291, 2.5.1).</summary>
    private static IPAddress Key(IPAddress? address)
    {
        if (address is null)
        {
            return IPAddress.None;
        }

        address = address.IsIPv4MappedToIPv6 ? address.MapToIPv4() : address;
        if (address.AddressFamily != System.Net.Sockets.AddressFamily.InterNetworkV6 || IPAddress.IsLoopback(address))
        {
            return address;
        }

        var bytes = address.GetAddressBytes();
        bytes.AsSpan(8).Clear();
        return new IPAddress(bytes);
    }

    private void Remove(LinkedListNode<Failures> entry)
    {
        _table.Remove(entry.Value.Address);
        _order.Remove(entry);
    }

    private sealed record Failures(IPAddress Address, int Count, long Last);
}
