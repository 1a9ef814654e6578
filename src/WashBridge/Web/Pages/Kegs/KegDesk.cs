using WashBridge.Core.Records;
using WashBridge.Core.Verdicts;
using WashBridge.Orders;
using WashBridge.Web.Accounts;

namespace WashBridge.Web.Pages.Kegs;

/// <summary>What came of releasing several kegs.</summary>
/// <param name="Released">How many were.</param>
/// <param name="Left">Those that were not, with the reason.</param>
internal sealed record ReleasedKegs(int Released, IReadOnlyList<(string Keg, string Reason)> Left);

/// <summary>Takes the decisions of the keg pages' forms: the same checks as for those that come by command or request.</summary>
internal sealed class KegDesk(RecordDesk desk, Acting acting, ReleaseRuns runs)
{
    /// <summary>How a keg stood when a form was made: who sends it decides about that, and about nothing that came since.</summary>
    public static string StateOf(KegFile file) => $"{file.LastWash?.Judged.Id}|{file.Decision?.Id}|{file.Washes.Sum(w => w.Inspections.Count)}";

    /// <param name="state">As <see cref="StateOf"/> told it.</param>
    /// <exception cref="TellingException">It cannot be taken; nothing is stored.</exception>
    public void Decide(string keg, string? decision, string? by, string? reason, string? state)
    {
        var teller = acting.Teller(by);
        desk.Take((historian, now) =>
        {
            var file = Telling.File(historian, keg);
            if (state != StateOf(file))
            {
                var what = file.Decision is { } last ? $"the last decision is '{Telling.Decisions[(int)last.Decision]}' by '{last.Act.By}'" : "it was washed, judged or looked into";
                throw new TellingException($"keg: found {keg} changed since this page was shown: {what}. Look at it again", isConflict: true);
            }

            return Telling.Decision(new ToldDecision(keg, decision, by, reason, file.LastWash?.Judged.Id), historian, now, teller);
        });
    }

    /// <summary>Begins to release those that are met, undecided and not found wanting; never any other. It goes on when the page is left.</summary>
    /// <param name="kegs">Each with the id of the verdict that was shown.</param>
    /// <exception cref="TellingException">Nobody is named.</exception>
    public ReleaseRun Release(IReadOnlyList<(string Keg, string Verdict)> kegs, string? by, string? reason)
    {
        var teller = acting.Teller(by);
        return runs.Start([.. kegs.Take(KegFilter.Most)], (keg, verdict) => Release(new ToldDecision(keg, "release", by, reason, verdict), teller));
    }

    private string? Release(ToldDecision told, Teller teller)
    {
        try
        {
            desk.Take((historian, now) =>
            {
                var file = Telling.File(historian, told.Keg!);
                if (ReleaseRules.NeedsReason(file, KegDecision.Release))
                {
                    throw new TellingException($"found {Standing(file)}; together with others only kegs are released that are met, undecided and passed every inspection", isConflict: true);
                }

                return Telling.Decision(told, historian, now, teller);
            });
            return null;
        }
        catch (TellingException refused)
        {
            return refused.Message;
        }
    }

    private static string Standing(KegFile file) => file.Standing switch
    {
        KegStanding.Held => "it held",
        KegStanding.Released => "it released already",
        KegStanding.ToRewash => "it is to be washed again",
        KegStanding.NoVerdict => "no verdict",
        _ when file.LastWash is { FailedInspection: true } => "a failed inspection",
        _ => $"the verdict {file.LastWash?.Verdict switch { Verdict.Met => "met", Verdict.NotMet => "not met", _ => "not proven" }}",
    };
}
