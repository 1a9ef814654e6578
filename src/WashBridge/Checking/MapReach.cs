using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Configuration;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;

namespace WashBridge.Checking;

/// <summary>What a washer's tag map, whatever the controller says, lets anybody judge, measure and forecast. The check prints it, and a page shows it.</summary>
internal sealed record MapReach(WasherConfiguration Washer)
{
    /// <summary>One answer for each requirement of each recipe, in their order.</summary>
    public IReadOnlyList<RecipeReach> Recipes { get; } =
    [
        .. Washer.RecipesByProgramme.Values.Prepend(Washer.Recipe).DistinctBy(r => (r.Id, r.Version)).Select(r => new RecipeReach(r, Judgeability.Explain(r, Washer.Model))),
    ];

    /// <summary>Worked out when somebody asks: most of the time goes into it, and a list of many washers tells none.</summary>
    public IReadOnlyList<FigureReach> Figures => field ??= FigureNeeds.Of(Washer.Model);

    public IReadOnlyList<PartReach> Parts { get; } = PartNeeds.Of(Washer.Model);

    /// <summary>Tags that read the same place of the controller: one of them may be a slip.</summary>
    public IReadOnlyList<IGrouping<TagSource, Tag>> Shared { get; } = [.. Washer.Tags.GroupBy(t => t.Source).Where(g => g.Count() > 1)];

    /// <summary>Signals that the map lacks, and what each would bring: the one that brings most first.</summary>
    public IReadOnlyList<MissingTag> Missing =>
    [
        .. Recipes.SelectMany(r => r.Requirements).SelectMany(c => c.Missing.Select(m => (Signal: m, Kind: Gain.Requirement, What: c.Requirement)))
            .Concat(Parts.SelectMany(p => p.Missing.Select(m => (Signal: m, Kind: Gain.Forecast, What: p.Component.Key))))
            .Concat(Figures.SelectMany(f => f.Missing.Select(m => (Signal: m, Kind: Gain.Figure, What: f.Of.Length > 0 ? $"{f.Family}/{f.Of}" : f.Family))))
            .Distinct()
            .GroupBy(n => n.Signal, StringComparer.Ordinal)
            .Select(g => new MissingTag(g.Key, [.. g.Where(n => n.Kind == Gain.Requirement).Select(n => n.What)], [.. g.Where(n => n.Kind == Gain.Forecast).Select(n => n.What)], [.. g.Where(n => n.Kind == Gain.Figure).Select(n => n.What)]))
            .OrderByDescending(m => m.Requirements.Count).ThenByDescending(m => m.Forecasts.Count).ThenByDescending(m => m.Figures.Count),
    ];

    private enum Gain
    {
        Requirement,
        Forecast,
        Figure,
    }
}

/// <param name="Recipe">As approved.</param>
/// <param name="Requirements">In its order.</param>
internal sealed record RecipeReach(Recipe Recipe, IReadOnlyList<Coverage> Requirements);

/// <param name="Signal">As <c>drain.dry of station 3</c>.</param>
/// <param name="Requirements">That would be judgeable, or come nearer to it.</param>
/// <param name="Forecasts">Parts that could be forecast.</param>
/// <param name="Figures">That could be measured.</param>
internal sealed record MissingTag(string Signal, IReadOnlyList<string> Requirements, IReadOnlyList<string> Forecasts, IReadOnlyList<string> Figures);
