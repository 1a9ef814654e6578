namespace WashBridge.Pairing;

/// <summary>Which places of two logs are the same: up to there one holds what the other does.</summary>
internal sealed class CopyPoints
{
    private const int Most = 1000;

    private readonly Queue<(long Theirs, long Ours)> _points = [];

    public void Add(long theirs, long ours)
    {
        _points.Enqueue((theirs, ours));
        if (_points.Count > Most)
        {
            _points.Dequeue();
        }
    }

    public void Clear() => _points.Clear();

    /// <summary>The last place of ours that is not behind this one of theirs; 0 if none is known.</summary>
    public long Upto(long theirs) => _points.Where(p => p.Theirs <= theirs).Select(p => p.Ours).DefaultIfEmpty(0).Max();
}
