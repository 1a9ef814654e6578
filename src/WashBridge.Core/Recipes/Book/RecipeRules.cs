using System.Collections.Immutable;
using System.Text;
using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Core.Recipes.Book;

/// <summary>
/// Who may do what to a recipe, and when. A draft takes the next number; only drafts change; nobody approves what he wrote any of; as many different people
/// approve as the site asks for; nothing is in force before its last approval; and a reason stands beside everything.
/// </summary>
public static class RecipeRules
{
    public const int MostApprovals = 2;

    /// <summary>What is wrong with an act that somebody is about to do, or null: what was found and what is allowed.</summary>
    public static string? Problem(RecipeBook book, RecipeActed acted)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(acted);
        if (!book.Configured.Any(r => r.Id == acted.RecipeId))
        {
            return $"recipe: found '{acted.RecipeId}'; the configuration has {(book.Configured.Count == 0 ? "none" : string.Join(", ", book.Configured.Select(r => r.Id).Distinct()))}";
        }

        var versions = book.Versions(acted.RecipeId);
        if (versions.FirstOrDefault(v => v.Number == acted.Version) is not { } version)
        {
            var next = book.NextVersion(acted.RecipeId);
            if (acted.Step != RecipeStep.Drafted || acted.Version != next)
            {
                return $"version: found {acted.Version}; {acted.RecipeId} has {string.Join(", ", versions.Select(v => v.Number))}, and a new draft is version {next}";
            }
        }
        else if (version.State == RecipeState.Configured)
        {
            return $"version: {acted.RecipeId} version {acted.Version} comes from a file of the configuration and is not changed here; a new draft is version {book.NextVersion(acted.RecipeId)}";
        }

        if (acted is { Step: RecipeStep.Approved, From: { } from } && from < acted.At.Earliest)
        {
            return $"from: found {from}; allowed: from {acted.At.Earliest} (now) on, so that no cycle that was judged already would be judged otherwise";
        }

        return Misfit([.. versions.Where(v => v.Acts.Count > 0)], acted);
    }

    /// <summary>The least role that a step asks for.</summary>
    public static Role RoleFor(RecipeStep step) => step is RecipeStep.Approved or RecipeStep.Refused or RecipeStep.Retired ? Role.Qa : Role.Operator;

    /// <summary>Names that people would take for the same.</summary>
    public static bool IsSamePerson(string a, string b) => string.Equals(Plain(a), Plain(b), StringComparison.OrdinalIgnoreCase);

    /// <summary>What does not fit, from the acts alone.</summary>
    internal static string? Misfit(ImmutableList<RecipeVersion> acted, RecipeActed act)
    {
        if (string.IsNullOrWhiteSpace(act.Act.By))
        {
            return "by: found nothing; who does it must be named";
        }

        if (string.IsNullOrWhiteSpace(act.Act.Reason))
        {
            return "reason: found nothing; everything that is done to a recipe needs one";
        }

        if (act.Act.Role is { } role && role < RoleFor(act.Step))
        {
            return $"role: found {Word(role)}; {Noun(act.Step)} is for {(RoleFor(act.Step) == Role.Qa ? "QA and administrator" : "operator, QA and administrator")}";
        }

        var version = acted.Find(v => v.Number == act.Version);
        return act.Step switch
        {
            RecipeStep.Drafted => Draft(acted, version, act),
            _ when version is null => $"version: found {act.Version}; {act.RecipeId} has {(acted.Count == 0 ? "no drafts" : string.Join(", ", acted.Select(v => v.Number)))}",
            RecipeStep.Submitted => Needs(version, act, RecipeState.Draft),
            RecipeStep.Approved => Needs(version, act, RecipeState.Submitted) ?? Approval(acted, version, act),
            RecipeStep.Refused => Needs(version, act, RecipeState.Submitted),
            RecipeStep.Withdrawn => Needs(version, act, RecipeState.Draft, RecipeState.Submitted),
            RecipeStep.Retired => Needs(version, act, RecipeState.Approved) ?? (act.At.Latest < version.From
                ? null
                : $"version {act.Version} is in force since {version.From}: cycles are judged with it; go back by a new draft with the limits of before"),
            _ => $"step: found {(int)act.Step}; there is no such step",
        };
    }

    /// <summary>Whether this approval is the last that is needed.</summary>
    internal static bool Completes(RecipeVersion version, RecipeActed approved) => version.ApprovalActs.Count() + 1 >= approved.Approvals;

    /// <summary>The latest of the dates that those who approved gave, and never before the last approval itself.</summary>
    internal static Instant InForceFrom(RecipeVersion version, RecipeActed approved) =>
        version.ApprovalActs.Append(approved).Select(a => a.From ?? approved.At.Latest).Aggregate(approved.At.Latest, Instant.Max);

    private static string? Draft(ImmutableList<RecipeVersion> acted, RecipeVersion? version, RecipeActed act)
    {
        if (act.Recipe is not { } recipe || recipe.Id != act.RecipeId || recipe.Version != act.Version)
        {
            return $"recipe: found {(act.Recipe is null ? "no content" : $"{act.Recipe.Id} version {act.Recipe.Version}")}; a draft of {act.RecipeId} version {act.Version} needs its own";
        }

        if (version is null)
        {
            var highest = acted.Select(v => v.Number).DefaultIfEmpty(0).Max();
            return act.Version <= highest ? $"version: found {act.Version}; numbers only rise, the last was {highest}" : act.Was is null ? null : $"was: found {act.Was}; a draft that begins replaces nothing";
        }

        if (Needs(version, act, RecipeState.Draft) is { } problem)
        {
            return problem;
        }

        var last = version.Drafts.Last();
        return last.Id != act.Was ? $"version {act.Version} was changed by {last.Act.By} at {last.At.Latest} in between: look at it again"
            : RecipeContent.Same(version.Recipe, recipe) ? $"recipe: found what version {act.Version} says already; nothing is changed"
            : null;
    }

    private static string? Approval(ImmutableList<RecipeVersion> acted, RecipeVersion version, RecipeActed act)
    {
        if (act.Approvals is not (>= 1 and <= MostApprovals))
        {
            return $"approvals: found {act.Approvals?.ToString(System.Globalization.CultureInfo.InvariantCulture) ?? "nothing"}; a site asks for 1 or {MostApprovals}";
        }

        if (version.Authors.FirstOrDefault(a => IsSamePerson(a, act.Act.By)) is { } author)
        {
            return $"by: {author} wrote version {act.Version} or part of it; somebody else must approve it";
        }

        if (version.ApprovalActs.FirstOrDefault(a => IsSamePerson(a.Act.By, act.Act.By)) is { } before)
        {
            return $"by: {before.Act.By} approved version {act.Version} already; another person must be the second";
        }

        var approved = acted.Where(v => v.State == RecipeState.Approved).ToList();
        if (approved.Find(v => v.Number > act.Version) is { } later)
        {
            return $"version: found {act.Version}; version {later.Number} is approved already, and versions come into force in the order of their numbers: make a new draft";
        }

        return Completes(version, act) && approved.Find(v => v.From >= InForceFrom(version, act)) is { } waiting
            ? $"from: found {InForceFrom(version, act)}; version {waiting.Number} comes into force at {waiting.From}: choose a later date, or retire version {waiting.Number} first"
            : null;
    }

    private static string? Needs(RecipeVersion version, RecipeActed act, params RecipeState[] states) => states.Contains(version.State)
        ? null
        : $"version {act.Version} is {Word(version.State)}; {Noun(act.Step)} needs one that is {string.Join(" or ", states.Select(Word))}";

    private static string Plain(string name) => string.Join(' ', name.Normalize(NormalizationForm.FormKC).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    private static string Noun(RecipeStep step) => step switch
    {
        RecipeStep.Drafted => "a change",
        RecipeStep.Submitted => "submitting",
        RecipeStep.Approved => "approving",
        RecipeStep.Refused => "refusing",
        RecipeStep.Withdrawn => "withdrawing",
        _ => "retiring",
    };

    private static string Word(RecipeState state) => state switch
    {
        RecipeState.Configured => "configured by a file",
        RecipeState.Draft => "a draft",
        _ => state.ToString().ToLowerInvariant(),
    };

    private static string Word(Role role) => role == Role.Qa ? "QA" : role.ToString().ToLowerInvariant();
}
