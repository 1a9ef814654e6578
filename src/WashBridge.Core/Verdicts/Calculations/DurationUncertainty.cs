namespace WashBridge.Core.Verdicts.Calculations;

/// <summary>Standard uncertainty of a duration whose ends were seen by polling (GUM, JCGM 100:2008, 4.3.7 and 4.3.9).</summary>
public static class DurationUncertainty
{
    /// <summary>
    /// Each edge lies anywhere between two polls: rectangular over its width, variance width^2 / 12; the edges are independent.
    /// Two equal widths T give a triangle on +-T and T / sqrt(6).
    /// </summary>
    /// <param name="startWidth">From the earliest to the latest instant of the start, in s; not negative.</param>
    /// <param name="endWidth">The same of the end.</param>
    public static double OfEdges(double startWidth, double endWidth)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(startWidth);
        ArgumentOutOfRangeException.ThrowIfNegative(endWidth);
        return Math.Sqrt(((startWidth * startWidth) + (endWidth * endWidth)) / 12);
    }
}
