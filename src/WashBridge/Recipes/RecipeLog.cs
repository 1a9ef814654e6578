using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Historian;

namespace WashBridge.Recipes;

/// <summary>
/// The book of recipes as it was at any place in the log, going forward. What was done to recipes is told by few events, so that it is read from the beginning
/// at every start, and no state is kept.
/// </summary>
internal sealed class RecipeLog(IHistorianReader historian, IEnumerable<Recipe> configured)
{
    private const string Kind = "recipe-acted";
    private const int PageSize = 500;

    private readonly Queue<LogEntry> _ahead = [];
    private RecipeBook _book = RecipeBook.Of(configured, []);
    private long _read;

    /// <summary>The book as it is now.</summary>
    public static RecipeBook Now(IHistorianReader historian, IEnumerable<Recipe> configured) =>
        RecipeBook.Of(configured, historian.ReadEvents(new EventQuery { Kinds = [Kind] }).OfType<RecipeActed>());

    /// <summary>Reads what the log has by now, so that <see cref="At"/> can tell of every place up to there.</summary>
    /// <param name="until">A place that the log has reached.</param>
    public void ReadTo(long until)
    {
        while (_read < until)
        {
            var page = historian.ReadEventLog(_read, PageSize, [Kind]);
            foreach (var entry in page)
            {
                _ahead.Enqueue(entry);
            }

            // A short page: there are no more up to the place asked for, and perhaps some behind it, which are then read already.
            _read = page.Count == PageSize ? page[^1].Sequence : Math.Max(until, page.Count > 0 ? page[^1].Sequence : 0);
        }
    }

    /// <summary>The book by all that was done before this place. Places only rise.</summary>
    public RecipeBook At(long sequence)
    {
        while (_ahead.TryPeek(out var next) && next.Sequence < sequence)
        {
            _book = _book.With((RecipeActed)_ahead.Dequeue().Event!);
        }

        return _book;
    }
}
