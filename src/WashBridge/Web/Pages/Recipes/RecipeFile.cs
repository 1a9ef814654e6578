using System.Text;

namespace WashBridge.Web.Pages.Recipes;

/// <summary>A version of a recipe as a file, for the configuration or for keeping.</summary>
internal static class RecipeFile
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapGet("/recipes/{id}/{version:int}/{name}.yaml", (string id, int version, RecipeDesk desk) =>
        desk.Book().Find(id, version) is { } found
            ? Results.File(Encoding.UTF8.GetBytes(desk.Yaml(found.Recipe)), "application/yaml; charset=utf-8", $"{id}-{version}.yaml")
            : Results.NotFound());
}
