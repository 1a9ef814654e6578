using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;

namespace WashBridge.Configuration.Binding;

/// <summary>A washer's file, with the tag map and recipes it names.</summary>
internal static class WasherBinder
{
    public const int MaxStations = 8;
    public const int MaxProgrammeNumber = 65_535;

    public static readonly TimeSpan LeastGapLimit = TimeSpan.FromMilliseconds(100);
    public static readonly TimeSpan MostGapLimit = TimeSpan.FromMinutes(10);

    public static WasherConfiguration Bind(MapBinder map, SourceFiles sources, RecipeShelf recipes)
    {
        var problems = sources.Problems;
        var id = map.Text("washer", TextForms.Id);
        var title = map.OptionalText("title", TextForms.Line);
        var stations = map.Require("stations", Scalars.WholeRange(1, MaxStations)) is { } node ? Scalars.Integer(node, 1, MaxStations, problems) : null;
        var connection = ConnectionBinder.Bind(map.Map("connection"), sources);
        var programme = ProgrammeBinder.Bind(map);
        var sequence = SequenceBinder.Bind(map.Map("sequence"), programme);
        var before = problems.Count;
        var groups = PollGroupBinder.Bind(map);
        var context = new TagContext(id, stations ?? MaxStations, problems.Count == before ? groups : [], connection is null ? null : connection is OpcUaConnection);
        var (tags, isComplete) = BindTags(map, sources, context);
        var (recipe, byProgramme) = BindRecipes(map, recipes);
        var washer = new WasherConfiguration
        {
            Model = new WasherModel
            {
                Washer = id,
                Stations = stations ?? MaxStations,
                Programme = programme.Phases,
                Sequence = sequence,
                Signals = [.. tags.Select(t => t.Tag.Signal)],
                GapLimit = map.Duration("gap-limit", LeastGapLimit, MostGapLimit, TimeSpan.FromSeconds(3)),
                ShortestCycle = map.Duration("shortest-cycle", TimeSpan.FromSeconds(5), TimeSpan.FromHours(4), TimeSpan.FromSeconds(60)),
                DrainTimeout = map.OptionalDuration("drain-timeout", TimeSpan.FromSeconds(1), TimeSpan.FromHours(1)),
            },
            Title = title ?? "",
            Connection = connection ?? new ModbusConnection { Host = "" },
            Groups = groups,
            Tags = [.. tags.Select(t => t.Tag)],
            Recipe = recipe?.Recipe ?? RecipeBinder.Placeholder,
            Analysis = AnalysisBinder.Bind(map.OptionalMap("analysis"), stations ?? MaxStations),
            RecipesByProgramme = byProgramme.ToDictionary(p => p.Key, p => p.Value.Recipe),
        };
        map.Finish();
        WasherChecks.Check(washer, new WasherParts(map, programme, tags, isComplete, [.. byProgramme.Values.Append(recipe).OfType<BoundRecipe>().Distinct()]), problems, sources.Warnings);
        return washer;
    }

    /// <summary>The tag map is a file that several washers may share, or stands in place.</summary>
    private static BoundTags BindTags(MapBinder map, SourceFiles sources, TagContext context)
    {
        var node = map.Require("tag-map", "the path of a tag map file, or a tag map in place");
        var tagMap = node is YamlMapping mapping ? new MapBinder(mapping, sources.Problems) : sources.ReadReferenced(node);
        return tagMap is null ? new BoundTags([], false) : TagMapBinder.Bind(tagMap, context);
    }

    private static (BoundRecipe? Default, Dictionary<int, BoundRecipe> ByProgramme) BindRecipes(MapBinder map, RecipeShelf recipes)
    {
        var byProgramme = new Dictionary<int, BoundRecipe>();
        var standard = recipes.Take(map.Require("recipe", "the path of a recipe file"));
        foreach (var entry in map.OptionalList("recipes-by-programme", 0, 100).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>())
        {
            var number = entry.Integer("programme", 0, MaxProgrammeNumber);
            var recipe = recipes.Take(entry.Require("recipe", "the path of a recipe file"));
            entry.Finish();
            if (recipe is not null)
            {
                byProgramme.TryAdd(number, recipe);
            }
        }

        Unique.Check(map.Node.Find("recipes-by-programme")?.Value, "programme", map.Problems);
        return (standard, byProgramme);
    }
}
