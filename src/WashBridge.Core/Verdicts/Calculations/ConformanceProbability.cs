namespace WashBridge.Core.Verdicts.Calculations;

/// <summary>The probability that a measured quantity conforms, given what was measured (JCGM 106:2012, clause 7).</summary>
public static class ConformanceProbability
{
    /// <summary>Single lower limit, normal distribution: pc = Phi((y - T_L) / u).</summary>
    /// <param name="limit">The lower tolerance limit T_L.</param>
    /// <param name="estimate">The best estimate y.</param>
    /// <param name="uncertainty">The standard uncertainty u; 0: the estimate is exact.</param>
    public static double AtLeast(double limit, double estimate, double uncertainty)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(uncertainty);
        if (uncertainty == 0)
        {
            return estimate >= limit ? 1 : 0;
        }

        return Normal.Cumulative((estimate - limit) / uncertainty);
    }

    /// <summary>
    /// Single lower limit for a duration between two edges, each rectangular over its own width: their difference is a trapezoid
    /// (a triangle for equal widths, a rectangle when one edge is exact), which has ends where a normal distribution has tails.
    /// </summary>
    /// <param name="limit">The shortest that conforms.</param>
    /// <param name="estimate">The duration between the middles of the edges.</param>
    /// <param name="startWidth">Width of the one edge; not negative.</param>
    /// <param name="endWidth">Width of the other; not negative.</param>
    public static double AtLeast(double limit, double estimate, double startWidth, double endWidth)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(startWidth);
        ArgumentOutOfRangeException.ThrowIfNegative(endWidth);
        var (wide, narrow) = startWidth >= endWidth ? (startWidth, endWidth) : (endWidth, startWidth);
        var margin = estimate - limit;
        if (wide == 0)
        {
            return margin >= 0 ? 1 : 0;
        }

        var half = (wide + narrow) / 2;
        if (Math.Abs(margin) >= half)
        {
            return margin > 0 ? 1 : 0;
        }

        var flat = (wide - narrow) / 2;
        if (Math.Abs(margin) <= flat)
        {
            return 0.5 + (margin / wide);
        }

        // Beyond the flat top the density falls linearly to nothing at the half width.
        var tail = half - Math.Abs(margin);
        var beyond = tail * tail / (2 * wide * narrow);
        return margin > 0 ? 1 - beyond : beyond;
    }

    /// <summary>Two limits, normal distribution (JCGM 106:2012, 7.4).</summary>
    public static double Between(double lowest, double highest, double estimate, double uncertainty) =>
        AtLeast(lowest, estimate, uncertainty) - AtLeast(highest, estimate, uncertainty);
}
