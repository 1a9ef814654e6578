using WashBridge.Core.Cycles;
using WashBridge.Core.Features.Extraction;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Features;

/// <summary>From the record of a cycle and the readings behind it to its figures. A pure function: same input, same figures. FEATURES.md beside this file describes every family.</summary>
public static class FeatureExtractor
{
    /// <summary>All figures of a cycle. What could not be seen is missing.</summary>
    /// <param name="cycle">The cycle as the segmenter recorded it.</param>
    /// <param name="frames">As for a verdict: from early enough before the cycle to hold a full frame of every group, to the frame that showed its end. For figures
    /// that count since the cycle before, from as early before the previous cycle's end.</param>
    /// <param name="recipe">The recipe in force.</param>
    /// <param name="kegs">By station, with the ids of their verdicts.</param>
    /// <param name="previousEnd">When the cycle before ended; null: not known, and the figures that count from there are missing.</param>
    /// <param name="deadBand">How far a signal can be from the value it holds, in its unit, as the tag map has it; null: estimated from the smallest change reported.</param>
    public static CycleFeatures Of(
        CycleRecord cycle,
        IReadOnlyList<Frame> frames,
        Recipe recipe,
        IReadOnlyList<WashedKeg> kegs,
        TimeBounds? previousEnd = null,
        Func<Signal, double>? deadBand = null)
    {
        ArgumentNullException.ThrowIfNull(cycle);
        ArgumentNullException.ThrowIfNull(frames);
        ArgumentNullException.ThrowIfNull(recipe);
        ArgumentNullException.ThrowIfNull(kegs);
        var extraction = new Extraction.Extraction(cycle, frames, recipe, previousEnd, deadBand);
        TimeFigures.Take(extraction);
        DrainFigures.Take(extraction);
        LiquidFigures.Take(extraction);
        BathFigures.Take(extraction);
        SprayFigures.Take(extraction);
        ReturnFigures.Take(extraction);
        GasFigures.Take(extraction);
        UseFigures.Take(extraction);
        return new CycleFeatures
        {
            Outcome = cycle.Outcome,
            Started = cycle.Start.Latest.Wall,
            Ended = cycle.End.Latest.Wall,
            Recipe = recipe.Id,
            RecipeVersion = recipe.Version,
            Programme = cycle.Programme,
            Kegs = [.. kegs.OrderBy(k => k.Station)],
            Figures = extraction.Figures.Take(),
        };
    }
}
