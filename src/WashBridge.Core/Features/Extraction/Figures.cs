namespace WashBridge.Core.Features.Extraction;

/// <summary>Collects figures: finite, rounded to what can be meant, in a fixed order, each once.</summary>
internal sealed class Figures
{
    private static readonly double[] Powers = [.. Enumerable.Range(0, 19).Select(i => (double)Power(i))];
    private readonly List<Feature> _list = new(256);

    public void Add(string name, int station, Estimate? estimate)
    {
        if (estimate is { } e && double.IsFinite(e.Value) && double.IsFinite(e.Uncertainty))
        {
            _list.Add(new Feature(name, station, Round(e.Value, 6), Round(e.Uncertainty, 3)));
        }
    }

    /// <summary>By name, then station. What came twice, because the controller went back to a phase, cannot be told apart and is left out.</summary>
    public IReadOnlyList<Feature> Take()
    {
        _list.Sort(static (a, b) => string.CompareOrdinal(a.Name, b.Name) is not 0 and var order ? order : a.Station.CompareTo(b.Station));
        var kept = new List<Feature>(_list.Count);
        for (var i = 0; i < _list.Count; i++)
        {
            if ((i == 0 || !IsSame(_list[i - 1], _list[i])) && (i + 1 == _list.Count || !IsSame(_list[i], _list[i + 1])))
            {
                kept.Add(_list[i]);
            }
        }

        return kept;
    }

    /// <summary>To so many significant digits, the same on every machine: no logarithm.</summary>
    internal static double Round(double value, int digits)
    {
        var size = Math.Abs(value);
        var integral = 0;
        while (integral < 18 && size >= Powers[integral])
        {
            integral++;
        }

        if (integral > 0)
        {
            return integral >= digits ? Math.Round(value) : Math.Round(value * Powers[digits - integral]) / Powers[digits - integral];
        }

        var zeros = 0;
        while (zeros < 12 && size != 0 && size * Powers[zeros + 1] < 1)
        {
            zeros++;
        }

        return Math.Round(value * Powers[digits + zeros]) / Powers[digits + zeros];
    }

    private static bool IsSame(Feature a, Feature b) => a.Station == b.Station && a.Name == b.Name;

    private static decimal Power(int exponent)
    {
        var power = 1m;
        for (var i = 0; i < exponent; i++)
        {
            power *= 10;
        }

        return power;
    }
}
