namespace WashBridge.Historian.Reading;

/// <summary>The damage met so far, each place once. Bounded: a file that is damaged throughout needs no longer list.</summary>
internal sealed class DamageLog
{
    private const int Most = 1000;

    private readonly Lock _lock = new();
    private readonly Dictionary<string, Damage> _byPlace = [];

    public IReadOnlyList<Damage> All
    {
        get
        {
            lock (_lock)
            {
                return [.. _byPlace.Values.OrderBy(d => d.FirstSequence)];
            }
        }
    }

    public void Add(Damage damage)
    {
        lock (_lock)
        {
            if (_byPlace.Count < Most)
            {
                _byPlace.TryAdd(damage.Place, damage);
            }
        }
    }
}
