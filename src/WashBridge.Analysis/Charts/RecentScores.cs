namespace WashBridge.Analysis.Charts;

/// <summary>The last values since the charts began, with their scores: where a signal's onset is looked for. Bounded.</summary>
internal sealed class RecentScores
{
    public const int Most = 1000;

    private readonly List<int> _cycles = [];
    private readonly List<float> _values = [];
    private readonly List<float> _scores = [];

    public int Count => _cycles.Count;

    public int CycleAt(int index) => _cycles[index];

    public float ValueAt(int index) => _values[index];

    public float ScoreAt(int index) => _scores[index];

    public void Add(int cycle, float value, double score)
    {
        // A block at a time: moving all of them for each value would cost more than all else.
        if (_cycles.Count >= Most + (Most / 4))
        {
            DropFirst(_cycles.Count - Most + 1);
        }

        _cycles.Add(cycle);
        _values.Add(value);
        _scores.Add((float)score);
    }

    public void Clear() => DropFirst(Count);

    public string SaveCycles() => Blob.Of(_cycles);

    public string SaveValues() => Blob.Of(_values);

    public string SaveScores() => Blob.Of(_scores);

    public void Load(string cycles, string values, string scores)
    {
        Clear();
        _cycles.AddRange(Blob.Integers(cycles));
        _values.AddRange(Blob.Floats(values));
        _scores.AddRange(Blob.Floats(scores));
    }

    private void DropFirst(int count)
    {
        _cycles.RemoveRange(0, count);
        _values.RemoveRange(0, count);
        _scores.RemoveRange(0, count);
    }
}
