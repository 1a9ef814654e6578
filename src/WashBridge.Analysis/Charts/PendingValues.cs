namespace WashBridge.Analysis.Charts;

/// <summary>
/// Values that wait outside the reference because the charts stand high: either they return, and the values were in control, or they signal, and the values were not. Without
/// waiting a small shift would move a short reference along before it is found, and never be found.
/// </summary>
internal sealed class PendingValues
{
    // Charts that stand high for so long without a signal are not about to give one.
    public const int Most = 1000;

    private List<float> _values = [];
    private List<float> _smooth = [];
    private List<float> _residuals = [];

    public int Count => _values.Count;

    public void Add(float value, float smooth, float residual)
    {
        _values.Add(value);
        _smooth.Add(smooth);
        _residuals.Add(residual);
    }

    /// <summary>The first of them were in control after all.</summary>
    public void MoveTo(ChartReference reference, int count, double tailProbability)
    {
        for (var i = 0; i < count; i++)
        {
            reference.Add(_values[i], _smooth[i], _residuals[i], tailProbability);
        }

        _values.RemoveRange(0, count);
        _smooth.RemoveRange(0, count);
        _residuals.RemoveRange(0, count);
    }

    public void Clear() => (_values, _smooth, _residuals) = ([], [], []);

    public string[] Save() => [Blob.Of(_values), Blob.Of(_smooth), Blob.Of(_residuals)];

    public void Load(string[] state) => (_values, _smooth, _residuals) = (Blob.Floats(state[0]), Blob.Floats(state[1]), Blob.Floats(state[2]));
}
