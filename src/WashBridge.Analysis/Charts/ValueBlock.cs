namespace WashBridge.Analysis.Charts;

/// <summary>Values of consecutive cycles, until they are enough for a mean.</summary>
/// <param name="length">Values in a mean, 1 or more.</param>
internal sealed class ValueBlock(int length)
{
    private int _first;
    private int _count;
    private double _sum;
    private double _variance;

    /// <summary>Takes the next value.</summary>
    /// <returns>With the last one needed, the mean, its standard uncertainty, and the cycle of the first.</returns>
    public (int First, double Mean, double Uncertainty)? Add(int cycle, double value, double uncertainty)
    {
        _first = _count == 0 ? cycle : _first;
        _sum += value;
        _variance += uncertainty * uncertainty;
        if (++_count < length)
        {
            return null;
        }

        var full = (_first, _sum / _count, Math.Sqrt(_variance) / _count);
        Clear();
        return full;
    }

    public void Clear() => (_first, _count, _sum, _variance) = (0, 0, 0, 0);

    public ValueBlockState Save() => new(_first, _count, _sum, _variance);

    public void Load(ValueBlockState state) => (_first, _count, _sum, _variance) = (state.First, state.Count, state.Sum, state.Variance);
}

/// <summary>What a block remembers.</summary>
internal sealed record ValueBlockState(int First, int Count, double Sum, double Variance);
