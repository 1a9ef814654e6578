using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Recipes;

namespace WashBridge.Web.Pages.Recipes;

/// <summary>A keg whose verdict would be other, or that cannot be judged again.</summary>
/// <param name="Reasons">What came out otherwise, with its evidence; or why it cannot be judged again.</param>
public sealed record CountedKeg(string Keg, string Cycle, Instant At, Verdict Was, Verdict? Now, IReadOnlyList<string> Reasons);

/// <summary>What judging again came to.</summary>
/// <param name="Matrix">Kegs by the verdict of the time and that of the other version.</param>
/// <param name="IsRecorded">The verdicts stand beside those of the time.</param>
public sealed record CountedView(
    int Kegs, int Cycles, int Others, int Unjudged, IReadOnlyDictionary<(Verdict Was, Verdict Now), int> Matrix, IReadOnlyList<CountedKeg> OtherKegs, IReadOnlyList<CountedKeg> UnjudgedKegs, bool IsRecorded, int Version)
{
    public const int MostShown = 200;

    internal static CountedView Of(RejudgeJob job) => job.Read(s => new CountedView(
        s.Kegs, s.Cycles, s.Others, s.Unjudged,
        Enum.GetValues<Verdict>().SelectMany(was => Enum.GetValues<Verdict>().Select(now => (was, now))).ToDictionary(p => p, p => s.Count(p.was, p.now)),
        [.. s.NamedOthers.Take(MostShown).Select(Of)], [.. s.NamedUnjudged.Take(MostShown).Select(Of)], job.Record is not null, job.Question.Recipe.Version));

    private static CountedKeg Of(RejudgedKeg keg) => new(
        keg.Was.Verdict.KegId, keg.Was.Verdict.CycleId, keg.Was.At.Latest, keg.Was.Verdict.Verdict, keg.Now?.Verdict,
        keg.Obstacle is { } obstacle ? [obstacle] : [.. keg.Reasons.Select(r => $"{r.Requirement}: {r.Evidence}")]);
}
