namespace WashBridge.Core.Recipes.Book;

/// <summary>A file of the configuration that says something else than what people approved here.</summary>
/// <param name="Recipe">The file's id.</param>
/// <param name="Version">The file's version.</param>
/// <param name="Text">One sentence: what was found, what holds, and what to do.</param>
public sealed record RecipeConflict(string Recipe, int Version, string Text);

/// <summary>
/// Where files and book disagree. The book wins: it is what people signed. A file can only say what is in force before the first approval.
/// </summary>
public static class RecipeConflicts
{
    public static IReadOnlyList<RecipeConflict> Find(RecipeBook book)
    {
        ArgumentNullException.ThrowIfNull(book);
        return [.. book.Configured.Select(c => Text(book, c) is { } text ? new RecipeConflict(c.Id, c.Version, text) : null).OfType<RecipeConflict>()];
    }

    private static string? Text(RecipeBook book, Recipe file)
    {
        var acted = book.Versions(file.Id).Where(v => v.Acts.Count > 0).ToList();
        if (acted.Find(v => v.Number == file.Version) is { } twin && !RecipeContent.Same(twin.Recipe, file))
        {
            return $"recipe {file.Id}: the file says version {file.Version} with another content than the version {file.Version} that {twin.Acts[0].Act.By} drafted here. What was drafted and approved here holds. Give the file the number that it had, or its content to a new draft.";
        }

        return acted.FindLast(v => v.State == RecipeState.Approved) is { } last && file.Version > last.Number && acted.TrueForAll(v => v.Number != file.Version)
            ? $"recipe {file.Id}: the file says version {file.Version}, which nobody approved here; version {last.Number} is approved, from {last.From} on, and holds from then. Bring the file's content in as a new draft."
            : null;
    }
}
