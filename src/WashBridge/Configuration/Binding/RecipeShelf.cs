using WashBridge.Configuration.Yaml;
using WashBridge.Core.Recipes;

namespace WashBridge.Configuration.Binding;

/// <summary>A recipe and the mapping it came from.</summary>
/// <param name="Recipe">The recipe.</param>
/// <param name="Map">Where it stands.</param>
/// <param name="IsComplete">False if something of it could not be understood.</param>
internal sealed record BoundRecipe(Recipe Recipe, MapBinder Map, bool IsComplete);

/// <summary>Recipes by file: several washers may use one, and it is read once.</summary>
internal sealed class RecipeShelf(SourceFiles sources)
{
    private readonly Dictionary<string, BoundRecipe> byFile = [];

    public BoundRecipe? Take(YamlNode? reference)
    {
        if (sources.ReadReferenced(reference) is not { } map)
        {
            return null;
        }

        if (byFile.TryGetValue(map.Place.File, out var known))
        {
            return known;
        }

        var before = map.Problems.Count;
        var recipe = RecipeBinder.Bind(map);
        if (recipe.Id.Length > 0 && byFile.Values.FirstOrDefault(r => r.Recipe.Id == recipe.Id && r.Recipe.Version == recipe.Version) is { } twin)
        {
            map.Problems.Add(map.PlaceOf("recipe"), $"{twin.Map.Place.File} has the same id and version", $"\"{recipe.Id}\" version {recipe.Version}", "each recipe version in one file");
        }

        return byFile[map.Place.File] = new BoundRecipe(recipe, map, map.Problems.Count == before);
    }
}
