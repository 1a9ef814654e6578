namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>
/// An index over the cycles since its reference began, as blocks: fine where it is recent, coarser the longer ago, so that a year takes little room and
/// a trend that has just begun is still seen.
/// </summary>
public sealed class WearSeries
{
    /// <summary>Values in the finest blocks.</summary>
    public const int Finest = 10;

    private const int MostOfASize = 14;
    private readonly List<WearBlock> _blocks;
    private readonly List<double> _values;

    public WearSeries()
        : this([], [])
    {
    }

    /// <param name="blocks">As in <see cref="Blocks"/>.</param>
    /// <param name="values">As in <see cref="Pending"/>.</param>
    public WearSeries(IEnumerable<WearBlock> blocks, IEnumerable<double> values)
    {
        _blocks = [.. blocks];
        _values = [.. values];
    }

    public IReadOnlyList<WearBlock> Blocks => _blocks;

    /// <summary>Time and value by turns of what is not yet a block.</summary>
    public IReadOnlyList<double> Pending => _values;

    public double Count => _blocks.Sum(b => b.Count) + (_values.Count / 2);

    /// <param name="time">In cycles since the reference began; rising.</param>
    /// <param name="value">Finite.</param>
    /// <returns>A block has become complete.</returns>
    public bool Add(double time, double value)
    {
        _values.Add(time);
        _values.Add(value);
        if (_values.Count < 2 * Finest)
        {
            return false;
        }

        _blocks.Add(BlockOf(_values));
        _values.Clear();
        Coarsen();
        return true;
    }

    public static WearBlock BlockOf(IReadOnlyList<double> timesAndValues)
    {
        ArgumentNullException.ThrowIfNull(timesAndValues);
        var n = timesAndValues.Count / 2;
        Span<double> sorted = stackalloc double[n];
        var time = 0.0;
        for (var i = 0; i < n; i++)
        {
            time += timesAndValues[2 * i];
            sorted[i] = timesAndValues[(2 * i) + 1];
        }

        sorted.Sort();
        var median = Middle(sorted);
        for (var i = 0; i < n; i++)
        {
            sorted[i] = Math.Abs(sorted[i] - median);
        }

        sorted.Sort();

        // Six digits are more than any index has, and keep what is remembered short.
        var value = Digits(median, 6);

        // The median distance of few values is too small: factor after Croux and Rousseeuw 1992.
        return new(time / n, value, n, n < 4 ? double.NaN : Digits(1.4826 * n / (n - 0.8) * Middle(sorted), 4));
    }

    private static double Digits(double value, int digits)
    {
        if (value == 0 || !double.IsFinite(value))
        {
            return value;
        }

        var unit = Math.Pow(10, digits - 1 - Math.Floor(Math.Log10(Math.Abs(value))));
        return double.IsFinite(unit) ? Math.Round(value * unit) / unit : value;
    }

    private static double Middle(Span<double> sorted) =>
        sorted.Length % 2 == 1 ? sorted[sorted.Length / 2] : 0.5 * (sorted[(sorted.Length / 2) - 1] + sorted[sorted.Length / 2]);

    /// <summary>The two oldest blocks of a size become one where there are more of that size than are needed, and so on to the coarser ones.</summary>
    private void Coarsen()
    {
        var end = _blocks.Count;
        while (end > 0)
        {
            var size = _blocks[end - 1].Count;
            var begin = end;
            while (begin > 0 && _blocks[begin - 1].Count == size)
            {
                begin--;
            }

            if (end - begin <= MostOfASize)
            {
                return;
            }

            var (a, b) = (_blocks[begin], _blocks[begin + 1]);
            _blocks[begin] = new(0.5 * (a.Time + b.Time), Digits(0.5 * (a.Value + b.Value), 6), 2 * size, Digits(0.5 * (a.Spread + b.Spread), 4));
            _blocks.RemoveAt(begin + 1);
            end = begin + 1;
        }
    }
}
