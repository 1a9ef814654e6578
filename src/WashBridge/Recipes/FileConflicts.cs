using WashBridge.Configuration;
using WashBridge.Core.Recipes.Book;
using WashBridge.Historian;

namespace WashBridge.Recipes;

/// <summary>Tells where the site's recipe files disagree with what people approved: at every start, and by <c>check</c>.</summary>
internal static partial class FileConflicts
{
    public static void Log(ILogger logger, IHistorianReader historian, Site site)
    {
        foreach (var conflict in RecipeConflicts.Find(RecipeLog.Now(historian, site.Recipes)))
        {
            Warn(logger, conflict.Text);
        }
    }

    /// <summary>Where the store is there and can be read; a check of files alone says nothing of it.</summary>
    public static IReadOnlyList<RecipeConflict> Find(Site site)
    {
        if (!File.Exists(site.Store.Path))
        {
            return [];
        }

        try
        {
            using var historian = Historian.Historian.OpenReader(site.Store.Path);
            return RecipeConflicts.Find(RecipeLog.Now(historian, site.Recipes));
        }
        catch (HistorianException unreadable)
        {
            return [new RecipeConflict("", 0, $"recipes: whether files and approved versions agree cannot be told: {unreadable.Message}")];
        }
    }

    [LoggerMessage(EventId = 2004, Level = LogLevel.Warning, Message = "Recipes: {Conflict}")]
    private static partial void Warn(ILogger logger, string conflict);
}
