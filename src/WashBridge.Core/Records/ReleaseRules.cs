using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Records;

/// <summary>Why a decision cannot be taken.</summary>
public enum ReleaseObstacle
{
    /// <summary>It does not fit how the keg stands.</summary>
    Standing = 0,

    /// <summary>The person may not.</summary>
    Role = 1,

    /// <summary>A reason is needed.</summary>
    Reason = 2,
}

/// <summary>What stands in the way of a decision: what was found and what is allowed.</summary>
public sealed record ReleaseProblem(ReleaseObstacle Obstacle, string Text);

/// <summary>A decision that a person can take now.</summary>
public sealed record AllowedDecision(KegDecision Decision, bool NeedsReason);

/// <summary>
/// Who may decide what about a keg. An operator may hold any keg and release one whose verdict is met; all else is for QA and administrators, with a reason.
/// Where nobody logs in (null), everybody at the machine may do all, and the record shows that nobody had logged in.
/// </summary>
public static class ReleaseRules
{
    /// <summary>Null: it may be taken.</summary>
    public static ReleaseProblem? Problem(KegFile keg, KegDecision decision, Role? role, string? reason)
    {
        ArgumentNullException.ThrowIfNull(keg);
        return Standing(keg, decision) ?? Person(keg, decision, role)
            ?? (NeedsReason(keg, decision) && string.IsNullOrWhiteSpace(reason)
                ? new ReleaseProblem(ReleaseObstacle.Reason, $"reason: found nothing; {(decision == KegDecision.Release ? $"releasing a keg {Why(keg)}" : $"to {Verb(decision)} a keg")} needs one")
                : null);
    }

    /// <summary>What a person in this role can decide about the keg as it stands.</summary>
    public static IReadOnlyList<AllowedDecision> Allowed(KegFile keg, Role? role) =>
        [.. Enum.GetValues<KegDecision>().Where(d => Standing(keg, d) is null && Person(keg, d, role) is null).Select(d => new AllowedDecision(d, NeedsReason(keg, d)))];

    /// <summary>Only releasing what is met, undecided and not found wanting speaks for itself.</summary>
    public static bool NeedsReason(KegFile keg, KegDecision decision) => decision != KegDecision.Release || !IsPlain(keg);

    private static bool IsPlain(KegFile keg) => keg is { Standing: KegStanding.Undecided, LastWash: { Verdict: Verdict.Met, FailedInspection: false } };

    private static ReleaseProblem? Standing(KegFile keg, KegDecision decision) => (decision, keg.Standing) switch
    {
        (KegDecision.Hold, KegStanding.Held) or (KegDecision.Release, KegStanding.Released) or (KegDecision.Rewash, KegStanding.ToRewash) =>
            new ReleaseProblem(ReleaseObstacle.Standing, $"{keg.KegId} is {Words(keg.Standing)} already"),
        (KegDecision.Release or KegDecision.Rewash, _) when keg.LastWash is null =>
            new ReleaseProblem(ReleaseObstacle.Standing, $"{keg.KegId}: found no washing of it that was judged; it can only be held"),
        _ => null,
    };

    private static ReleaseProblem? Person(KegFile keg, KegDecision decision, Role? role)
    {
        var needed = decision == KegDecision.Hold || (decision == KegDecision.Release && IsPlain(keg)) ? Role.Operator : Role.Qa;
        return role is null || role >= needed
            ? null
            : new ReleaseProblem(ReleaseObstacle.Role, $"role: found {Word(role.Value)}; {(decision == KegDecision.Release ? $"a keg {Why(keg)} can be released" : $"a keg can be {(decision == KegDecision.Hold ? "held" : "sent to be washed again")}")} by {(needed == Role.Operator ? "operator, QA and administrator" : "QA and administrator")}");
    }

    private static string Why(KegFile keg) => keg.Standing switch
    {
        KegStanding.Held => "that is held",
        KegStanding.ToRewash => "that is to be washed again",
        _ when keg.LastWash?.FailedInspection == true => "that failed an inspection",
        _ => $"whose verdict is {keg.LastWash?.Verdict switch { Verdict.Met => "met", Verdict.NotMet => "not met", _ => "not proven" }}",
    };

    private static string Verb(KegDecision decision) => decision == KegDecision.Hold ? "hold" : "wash again";

    private static string Words(KegStanding standing) => standing switch
    {
        KegStanding.Held => "held",
        KegStanding.Released => "released",
        _ => "to be washed again",
    };

    private static string Word(Role role) => role == Role.Qa ? "QA" : role.ToString().ToLowerInvariant();
}
