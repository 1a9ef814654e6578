namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>Wear does not heal: where an index came back most of its way, or was better than that of a new part, something that was not the part had moved it, and what was before says nothing of the part.</summary>
internal static class WearHistory
{
    /// <summary>Share of the way to the limit from which on a return counts, and share of the highest wear that must be gone.</summary>
    private const double LeastWay = 0.05;
    private const double Gone = 0.5;

    /// <summary>Standard deviations of a block by which it must have come back.</summary>
    private const double Clearly = 8;

    public static IReadOnlyList<WearBlock> SinceRecovery(WearQuestion question)
    {
        var way = question.Limit - question.Reference;
        var (begin, highest) = (0, 0.0);
        for (var i = 0; i < question.Blocks.Count; i++)
        {
            var block = question.Blocks[i];
            var wear = (block.Value - question.Reference) / way;
            var noise = ((double.IsFinite(block.Spread) ? 1.25 * block.Spread / Math.Sqrt(block.Count) : 0) + question.Exactness) / Math.Abs(way);
            if (highest > LeastWay && highest - wear > Math.Max(Gone * highest, Clearly * noise))
            {
                (begin, highest) = (i, 0);
            }

            if (wear < -Math.Max(LeastWay, Clearly * noise))
            {
                // Better than new.
                (begin, highest) = (i + 1, 0);
            }

            highest = Math.Max(highest, wear);
        }

        return begin == 0 ? question.Blocks : [.. question.Blocks.Skip(begin)];
    }
}
