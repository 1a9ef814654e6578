using System.Collections.Immutable;
using WashBridge.Core.Time;

namespace WashBridge.Core.Recipes.Book;

/// <summary>An act that does not fit how its recipe stood: it changed nothing.</summary>
public sealed record RecipeMisfit(RecipeActed Acted, string Problem);

/// <summary>
/// All versions of all recipes: those of the configuration's files and what people did since. A pure fold of the acts in the order of the log; which acts count
/// follows from the acts alone, never from files or settings of today, so that a book of yesterday's log says today what it said then.
/// </summary>
/// <remarks>
/// What is approved goes before what a file says: from its date on an approved version is in force wherever the recipe's id is configured, until a later one is. Before
/// that, and where nothing was ever approved, the file's is. In force never reaches back behind the last approval, and dates only rise from version to version.
/// </remarks>
public sealed class RecipeBook
{
    private readonly ImmutableSortedDictionary<string, ImmutableList<RecipeVersion>> _acted;
    private readonly ImmutableList<RecipeMisfit> _misfits;

    private RecipeBook(IReadOnlyList<Recipe> configured, ImmutableSortedDictionary<string, ImmutableList<RecipeVersion>> acted, ImmutableList<RecipeMisfit> misfits) =>
        (Configured, _acted, _misfits) = (configured, acted, misfits);

    public static RecipeBook Empty { get; } = new([], ImmutableSortedDictionary.Create<string, ImmutableList<RecipeVersion>>(StringComparer.Ordinal), []);

    /// <summary>The files' recipes, each version once.</summary>
    public IReadOnlyList<Recipe> Configured { get; }

    public IReadOnlyList<RecipeMisfit> Misfits => _misfits;

    /// <summary>Every id that is configured or was acted on, in order.</summary>
    public IReadOnlyList<string> Ids => [.. Configured.Select(r => r.Id).Concat(_acted.Keys).Distinct().Order(StringComparer.Ordinal)];

    public static RecipeBook Of(IEnumerable<Recipe> configured, IEnumerable<RecipeActed> acts)
    {
        ArgumentNullException.ThrowIfNull(configured);
        ArgumentNullException.ThrowIfNull(acts);
        var files = configured.DistinctBy(r => (r.Id, r.Version)).OrderBy(r => r.Id, StringComparer.Ordinal).ThenBy(r => r.Version).ToList();
        return acts.Aggregate(new RecipeBook(files, Empty._acted, Empty._misfits), (book, acted) => book.With(acted));
    }

    /// <summary>The book after a further act. One that does not fit changes nothing but <see cref="Misfits"/>.</summary>
    public RecipeBook With(RecipeActed acted)
    {
        ArgumentNullException.ThrowIfNull(acted);
        if (RecipeRules.Misfit(Acted(acted.RecipeId), acted) is { } problem)
        {
            return new RecipeBook(Configured, _acted, _misfits.Add(new RecipeMisfit(acted, problem)));
        }

        var versions = Acted(acted.RecipeId);
        var at = versions.FindIndex(v => v.Number == acted.Version);
        versions = at < 0
            ? versions.Add(new RecipeVersion { Recipe = acted.Recipe!, State = RecipeState.Draft, Acts = [acted] })
            : versions.SetItem(at, After(versions[at], acted));
        return new RecipeBook(Configured, _acted.SetItem(acted.RecipeId, WithEnds(versions)), _misfits);
    }

    /// <summary>The versions of a recipe, the first first. What people did to a version goes before a file of the same number.</summary>
    public IReadOnlyList<RecipeVersion> Versions(string id)
    {
        var acted = Acted(id);
        var first = InForceInOrder(acted).FirstOrDefault()?.From;
        return [.. acted.Concat(Configured.Where(c => c.Id == id && !acted.Exists(v => v.Number == c.Version)).Select(c => new RecipeVersion { Recipe = c, State = RecipeState.Configured, Until = first })).OrderBy(v => v.Number)];
    }

    public RecipeVersion? Find(string id, int version) => Versions(id).FirstOrDefault(v => v.Number == version);

    /// <summary>With which recipe a cycle that began then is judged, where the washer is configured with this one.</summary>
    /// <param name="configured">Of the washer and its programme.</param>
    /// <param name="cycleStart">The earliest instant at which the cycle can have begun: one that may have begun before a date is judged as before it.</param>
    public Recipe InForce(Recipe configured, Instant cycleStart)
    {
        ArgumentNullException.ThrowIfNull(configured);
        return _acted.TryGetValue(configured.Id, out var versions) && versions.FindLast(v => v.IsInForce(cycleStart)) is { } inForce ? inForce.Recipe : configured;
    }

    /// <summary>The number that the next draft takes: above every one that is or was used.</summary>
    public int NextVersion(string id) => Versions(id).Select(v => v.Number).DefaultIfEmpty(0).Max() + 1;

    private ImmutableList<RecipeVersion> Acted(string id) => _acted.GetValueOrDefault(id, []);

    private static IEnumerable<RecipeVersion> InForceInOrder(ImmutableList<RecipeVersion> versions) => versions.Where(v => v.State == RecipeState.Approved).OrderBy(v => v.From);

    private static RecipeVersion After(RecipeVersion version, RecipeActed acted)
    {
        var with = version with { Acts = [.. version.Acts, acted] };
        return acted.Step switch
        {
            RecipeStep.Drafted => with with { Recipe = acted.Recipe! },
            RecipeStep.Submitted => with with { State = RecipeState.Submitted },
            RecipeStep.Approved => RecipeRules.Completes(version, acted) ? with with { State = RecipeState.Approved, From = RecipeRules.InForceFrom(version, acted) } : with,
            RecipeStep.Refused => with with { State = RecipeState.Refused },
            RecipeStep.Withdrawn => with with { State = RecipeState.Withdrawn },
            _ => with with { State = RecipeState.Retired },
        };
    }

    private static ImmutableList<RecipeVersion> WithEnds(ImmutableList<RecipeVersion> versions)
    {
        var order = InForceInOrder(versions).ToList();
        return [.. versions.Select(v => v with { Until = order.IndexOf(v) is >= 0 and var i && i + 1 < order.Count ? order[i + 1].From : null })];
    }
}
