namespace WashBridge.Core.Sampling;

/// <summary>Halving, for what only rises or only falls.</summary>
internal static class Search
{
    /// <summary>The rate (0 to 1) where a condition that holds at low rates ends, to the last bit that halving can give.</summary>
    public static double Crossing(Func<double, bool> holds)
    {
        var (low, high) = (0.0, 1.0);
        while (true)
        {
            var middle = low + ((high - low) / 2);
            if (middle <= low || middle >= high)
            {
                return high;
            }

            (low, high) = holds(middle) ? (middle, high) : (low, middle);
        }
    }

    /// <summary>The last number of a range for which a condition holds that holds for the first.</summary>
    public static int Last(int first, int last, Func<int, bool> holds)
    {
        while (first < last)
        {
            var middle = first + ((last - first + 1) / 2);
            (first, last) = holds(middle) ? (middle, last) : (first, middle - 1);
        }

        return first;
    }

    /// <summary>The first number of a range for which a condition holds that holds for the last.</summary>
    public static int First(int first, int last, Func<int, bool> holds)
    {
        while (first < last)
        {
            var middle = first + ((last - first) / 2);
            (first, last) = holds(middle) ? (first, middle) : (middle + 1, last);
        }

        return first;
    }
}
