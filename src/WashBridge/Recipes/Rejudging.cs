using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Recipes;

/// <summary>Which washings are judged again, and with what.</summary>
/// <param name="Recipe">The other version.</param>
/// <param name="From">Cycles that ended from here on.</param>
/// <param name="Until">Cycles that ended before this.</param>
/// <param name="Washer">Only of this one; null: of every washer that uses the recipe.</param>
/// <param name="LastCycles">Of these, only so many of each washer, the last; null: all.</param>
internal sealed record RejudgeQuestion(Recipe Recipe, Instant From, Instant Until, string? Washer = null, int? LastCycles = null);

/// <summary>A keg judged again, or not.</summary>
/// <param name="Was">The verdict that was reached when it was washed.</param>
/// <param name="Now">By the other version; null: it cannot be judged again.</param>
/// <param name="Obstacle">Why it cannot; null: it could.</param>
internal sealed record RejudgedKeg(KegJudged Was, KegVerdict? Now, string? Obstacle)
{
    public bool IsOther => Now is { } now && now.Verdict != Was.Verdict.Verdict;

    /// <summary>The requirements that came out otherwise, or are new, and are not met now.</summary>
    public IEnumerable<RequirementResult> Reasons => Now is not { } now ? [] : now.Results.Where(r => Was.Verdict.Results.FirstOrDefault(b => b.Requirement == r.Requirement)?.Verdict != r.Verdict);
}

/// <summary>
/// Judges stored washings again with another version of their recipe, from the readings that are kept. It reads only; the verdicts of the time stay what they are.
/// </summary>
internal static class Rejudging
{
    private const int PageFrames = 4096;

    /// <summary>The readings of groups are dropped within hours of one another.</summary>
    private const int MostPages = 100;

    private static readonly TimeSpan Piece = TimeSpan.FromHours(12);

    /// <summary>Every keg in question, washer by washer in the order of time, one cycle after the other as it is asked for.</summary>
    /// <param name="progress">Hears which share of the cycles is done, 0 to 1.</param>
    public static IEnumerable<RejudgedKeg> Run(IHistorianReader historian, Site site, RejudgeQuestion question, Action<double>? progress, CancellationToken cancellation)
    {
        var washers = Washers(site, question).ToList();
        for (var i = 0; i < washers.Count; i++)
        {
            var (washer, lead) = (washers[i], washers[i].Groups.Max(g => g.Heartbeat));
            var begin = Begin(historian, washer);
            foreach (var (cycle, share) in Cycles(historian, washer.Model.Washer, question))
            {
                cancellation.ThrowIfCancellationRequested();
                foreach (var keg in Judge(historian, cycle, question.Recipe, lead, begin))
                {
                    yield return keg;
                }

                progress?.Invoke((i + share) / washers.Count);
            }
        }

        progress?.Invoke(1);
    }

    /// <summary>The record of a keg judged again. Its id says all, so that the same once more changes nothing.</summary>
    public static KegRejudged? Record(RejudgedKeg keg, Recipe recipe, Act act, TimeBounds at) => keg.Now is not { } now ? null : new KegRejudged
    {
        Id = $"{now.CycleId}/s{now.Station}/rejudged/{recipe.Id}/{recipe.Version}/{RecipeContent.Fingerprint(recipe)}",
        Washer = now.Washer,
        CycleId = now.CycleId,
        At = at,
        Act = act,
        Verdict = now,
        Fingerprint = RecipeContent.Fingerprint(recipe),
        Was = keg.Was.Verdict.Verdict,
        WasId = keg.Was.Id,
        WasRecipe = keg.Was.Verdict.Recipe,
        WasVersion = keg.Was.Verdict.RecipeVersion,
    };

    /// <summary>Those that are configured with a recipe of this id.</summary>
    public static IEnumerable<WasherConfiguration> Washers(Site site, RejudgeQuestion question) =>
        RecipeText.Of(site, question.Recipe.Id).Where(w => question.Washer is null || w.Model.Washer == question.Washer);

    /// <summary>From when on the readings of every group are kept; they are dropped group by group. Null: of some group none are.</summary>
    private static Instant? Begin(IHistorianReader historian, WasherConfiguration washer)
    {
        var open = washer.Groups.Select(g => g.Number).ToHashSet();
        var (cursor, begin) = (0L, (Instant?)null);
        for (var page = 0; page < MostPages && open.Count > 0 && historian.ReadLog(cursor, PageFrames, LogContent.Frames, washer.Model.Washer) is { Count: > 0 } entries; page++)
        {
            foreach (var frame in entries.Select(e => e.Frame!).Where(f => f.Kind is not (FrameKind.Clock or FrameKind.Failed) && open.Remove(f.Group)))
            {
                begin = begin is { } b ? Instant.Max(b, frame.Read.Earliest) : frame.Read.Earliest;
            }

            cursor = entries[^1].Sequence;
        }

        return open.Count == 0 ? begin : null;
    }

    /// <summary>In pieces: a year of cycles is gigabytes.</summary>
    private static IEnumerable<(CycleRecord Cycle, double Share)> Cycles(IHistorianReader historian, string washer, RejudgeQuestion question)
    {
        var from = Instant.Max(question.From, question.LastCycles is { } count ? Begin(historian, washer, question, count) : First(historian, washer) ?? question.Until);
        var length = Math.Max(1, (question.Until - from).TotalSeconds);
        for (var begin = from; begin < question.Until; begin += Piece)
        {
            var end = Instant.Min(begin + Piece, question.Until);
            foreach (var cycle in Ended(historian, washer, begin, end))
            {
                yield return (cycle, Math.Clamp((cycle.End.Latest.Wall - from).TotalSeconds / length, 0, 1));
            }
        }
    }

    private static Instant? First(IHistorianReader historian, string washer) =>
        historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["cycle-ended"], AtMost = 1 }) is [var first] ? first.At.Latest : null;

    /// <summary>Backwards, as far as so many cycles reach.</summary>
    private static Instant Begin(IHistorianReader historian, string washer, RejudgeQuestion question, int count)
    {
        var ends = new List<Instant>();
        var floor = Instant.Max(question.From, First(historian, washer) ?? question.Until);
        for (var end = question.Until; end > floor && ends.Count < count; end -= Piece)
        {
            ends.AddRange(Ended(historian, washer, Instant.Max(end - Piece, floor), end).Select(c => c.End.Latest.Wall));
        }

        return ends.Count == 0 ? question.Until : ends.OrderDescending().Take(count).Last();
    }

    private static IEnumerable<CycleRecord> Ended(IHistorianReader historian, string washer, Instant from, Instant until) =>
        historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["cycle-ended"], From = from, Until = until }).OfType<CycleEnded>().Where(e => e.At.Latest >= from && e.At.Latest < until).Select(e => e.Cycle);

    private static IEnumerable<RejudgedKeg> Judge(IHistorianReader historian, CycleRecord cycle, Recipe recipe, TimeSpan lead, Instant? begin)
    {
        // Only washings that were judged by this recipe: a short programme is not held against the limits of the long one.
        var judged = historian.ReadEvents(new EventQuery { CycleId = cycle.Id, Kinds = ["keg-judged"] }).OfType<KegJudged>().Where(k => k.Verdict.Recipe == recipe.Id).ToList();
        if (judged.Count == 0)
        {
            return [];
        }

        var evidence = CycleEvidence.Read(historian, cycle, lead, []);
        if (Missing(evidence, begin) is { } obstacle)
        {
            return judged.Select(k => new RejudgedKeg(k, null, obstacle));
        }

        var verdicts = Core.Verdicts.Judge.Decide(cycle, evidence.JudgedFrames, recipe, evidence.Scans).ToDictionary(v => v.Station);
        return judged.Select(k => verdicts.TryGetValue(k.Verdict.Station, out var now)
            ? new RejudgedKeg(k, now with { KegId = k.Verdict.KegId, KegIdSource = k.Verdict.KegIdSource }, null)
            : new RejudgedKeg(k, null, "the cycle has no keg at this station now"));
    }

    /// <summary>Null where every reading is kept that the cycle was judged by. Of what is partly gone all would seem not proven.</summary>
    private static string? Missing(CycleEvidence evidence, Instant? begin) =>
        begin is null ? "its readings are not kept any more"
        : !evidence.Frames.Any(f => f.Kind is not (FrameKind.Clock or FrameKind.Failed)) || begin > evidence.JudgedFrom ? $"its readings are not all kept: they begin at {begin}"
        : null;
}
