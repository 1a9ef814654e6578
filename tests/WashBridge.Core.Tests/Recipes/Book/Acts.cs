using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Recipes.Book;

/// <summary>Invented acts on invented recipes: sensible ones, and any.</summary>
internal static class Acts
{
    public static readonly Instant Eight = Instant.Parse("2031-03-05T08:00:00Z");
    public static readonly string[] People = ["A. Uthor", "K. Wash", "Q. Ality"];

    public static Recipe Recipe(int version, double hold = 34, string id = "full") => new()
    {
        Id = id,
        Version = version,
        Requirements = [new StepTime { Id = "hold", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(hold) }],
        Setpoints = new Dictionary<string, ApprovedSetpoint> { ["sanitise.hold"] = new(hold + 1, "s") },
    };

    public static Instant At(double minutes) => Eight + TimeSpan.FromMinutes(minutes);

    public static RecipeActed Act(double minutes, RecipeStep step, string by, int version = 2, string id = "full") => new()
    {
        Id = $"recipe/{id}/{minutes}",
        Washer = WashEvent.WholeSite,
        At = TimeBounds.At(At(minutes)),
        Act = new Act { By = by, Role = Role.Qa, Reason = "as tried on Monday", Means = Means.Page, Entered = At(minutes) },
        RecipeId = id,
        Version = version,
        Step = step,
    };

    public static RecipeActed Draft(double minutes, string by, int version = 2, double hold = 40, string? was = null) => Act(minutes, RecipeStep.Drafted, by, version) with { Recipe = Recipe(version, hold), Was = was };

    public static RecipeActed Approve(double minutes, string by, int version = 2, double? from = null, int approvals = 1) =>
        Act(minutes, RecipeStep.Approved, by, version) with { From = from is { } m ? At(m) : null, Approvals = approvals };

    public static RecipeBook BookOf(params IEnumerable<RecipeActed> acts) => RecipeBook.Of([Recipe(1)], acts);

    /// <summary>
    /// Acts in the order of their time: mostly what fits how the book stands, so that much is approved, and sometimes anything at all.
    /// </summary>
    public static Gen<List<RecipeActed>> Any { get; } =
        Gen.Select(Gen.Int[0, 9], Gen.Int[0, 5], Gen.Int[0, 2], Gen.Int[1, 6], Gen.Int[-20, 40], Gen.Int[1, 2]).Array[1, 60].Select(choices =>
        {
            var (book, acts) = (BookOf(), new List<RecipeActed>());
            for (var i = 0; i < choices.Length; i++)
            {
                var (sense, step, who, version, from, approvals) = choices[i];
                var acted = Choose(book, i, sense, step, who, version, from, approvals);
                acts.Add(acted);
                book = book.With(acted);
            }

            return acts;
        });

    private static RecipeActed Choose(RecipeBook book, int i, int sense, int step, int who, int version, int from, int approvals)
    {
        var open = book.Versions("full").Where(v => v.Acts.Count > 0 && v.State is RecipeState.Draft or RecipeState.Submitted or RecipeState.Approved).ToList();
        var (target, kind) = sense < 2 || open.Count == 0
            ? (sense == 0 ? version : book.NextVersion("full"), sense == 0 ? (RecipeStep)step : RecipeStep.Drafted)
            : (open[who % open.Count].Number, open[who % open.Count].State switch { RecipeState.Draft => step < 2 ? RecipeStep.Drafted : RecipeStep.Submitted, RecipeState.Submitted => step == 0 ? RecipeStep.Refused : RecipeStep.Approved, _ => RecipeStep.Retired });
        var was = book.Find("full", target)?.Drafts.LastOrDefault()?.Id;
        return kind switch
        {
            RecipeStep.Drafted => Draft(i, People[who], target, 30 + i, was),
            RecipeStep.Approved => Approve(i, People[(who + step) % 3], target, from == 0 ? null : i + from, approvals),
            _ => Act(i, kind, People[who], target),
        };
    }
}
