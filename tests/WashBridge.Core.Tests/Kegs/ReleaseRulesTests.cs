using WashBridge.Core.Records;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Tests.Kegs;

/// <summary>The table of RECORDS.md, case by case.</summary>
public sealed class ReleaseRulesTests
{
    private static readonly Dictionary<string, Func<KegDays>> Kegs = new()
    {
        ["unwashed"] = () => new KegDays(),
        ["met"] = () => new KegDays().Washed(),
        ["not met"] = () => new KegDays().Washed(Verdict.NotMet),
        ["not proven"] = () => new KegDays().Washed(Verdict.NotProven),
        ["met, judged again as not met"] = () => new KegDays().Washed().JudgedAgain(Verdict.NotMet),
        ["met, inspection failed"] = () => new KegDays().Washed().Inspected(passed: false),
        ["met, inspection passed"] = () => new KegDays().Washed().Inspected(passed: true),
        ["held"] = () => new KegDays().Washed().Decided(KegDecision.Hold),
        ["held and unwashed"] = () => new KegDays().Decided(KegDecision.Hold),
        ["held and washed again"] = () => new KegDays().Washed().Decided(KegDecision.Hold).Washed(),
        ["released"] = () => new KegDays().Washed().Decided(KegDecision.Release),
        ["to rewash"] = () => new KegDays().Washed(Verdict.NotMet).Decided(KegDecision.Rewash),
        ["rewashed"] = () => new KegDays().Washed(Verdict.NotMet).Decided(KegDecision.Rewash).Washed(),
    };

    /// <summary>What may be decided; an asterisk: only with a reason.</summary>
    [Theory]
    [InlineData("unwashed", "hold*", "hold*")]
    [InlineData("met", "hold* release", "hold* release rewash*")]
    [InlineData("not met", "hold*", "hold* release* rewash*")]
    [InlineData("not proven", "hold*", "hold* release* rewash*")]
    [InlineData("met, judged again as not met", "hold*", "hold* release* rewash*")]
    [InlineData("met, inspection failed", "hold*", "hold* release* rewash*")]
    [InlineData("met, inspection passed", "hold* release", "hold* release rewash*")]
    [InlineData("held", "", "release* rewash*")]
    [InlineData("held and unwashed", "", "")]
    [InlineData("held and washed again", "", "release* rewash*")]
    [InlineData("released", "hold*", "hold* rewash*")]
    [InlineData("to rewash", "hold*", "hold* release*")]
    [InlineData("rewashed", "hold* release", "hold* release rewash*")]
    public void Who_may_decide_what(string keg, string byOperator, string byQa)
    {
        var file = Kegs[keg]().File;
        Assert.Equal(byOperator, Allowed(file, Role.Operator));
        Assert.Equal(byQa, Allowed(file, Role.Qa));
        Assert.Equal(byQa, Allowed(file, Role.Administrator));
        Assert.Equal(byQa, Allowed(file, null));
        Assert.Equal("", Allowed(file, Role.Viewer));
    }

    /// <summary>What is offered and what is taken are one.</summary>
    [Fact]
    public void What_is_allowed_is_taken_and_nothing_else()
    {
        foreach (var (name, make) in Kegs)
        {
            var file = make().File;
            foreach (var role in Enum.GetValues<Role>().Cast<Role?>().Append(null))
            {
                var allowed = ReleaseRules.Allowed(file, role);
                foreach (var decision in Enum.GetValues<KegDecision>())
                {
                    var offered = allowed.FirstOrDefault(a => a.Decision == decision);
                    Assert.True(offered is null == ReleaseRules.Problem(file, decision, role, "because") is not null, $"{name}, {role}, {decision}");
                    Assert.True(offered is { NeedsReason: false } == ReleaseRules.Problem(file, decision, role, " ") is null, $"{name}, {role}, {decision} without a reason");
                }
            }
        }
    }

    [Theory]
    [InlineData("met", KegDecision.Release, Role.Viewer, "x", ReleaseObstacle.Role, "role: found viewer; a keg whose verdict is met can be released by operator, QA and administrator")]
    [InlineData("not proven", KegDecision.Release, Role.Operator, "x", ReleaseObstacle.Role, "role: found operator; a keg whose verdict is not proven can be released by QA and administrator")]
    [InlineData("held", KegDecision.Release, Role.Operator, "x", ReleaseObstacle.Role, "role: found operator; a keg that is held can be released by QA and administrator")]
    [InlineData("met", KegDecision.Rewash, Role.Operator, "x", ReleaseObstacle.Role, "role: found operator; a keg can be sent to be washed again by QA and administrator")]
    [InlineData("not met", KegDecision.Release, Role.Qa, "", ReleaseObstacle.Reason, "reason: found nothing; releasing a keg whose verdict is not met needs one")]
    [InlineData("met, inspection failed", KegDecision.Release, Role.Qa, null, ReleaseObstacle.Reason, "reason: found nothing; releasing a keg that failed an inspection needs one")]
    [InlineData("met", KegDecision.Hold, Role.Qa, "", ReleaseObstacle.Reason, "reason: found nothing; to hold a keg needs one")]
    [InlineData("held", KegDecision.Hold, Role.Qa, "x", ReleaseObstacle.Standing, "K-1 is held already")]
    [InlineData("unwashed", KegDecision.Release, Role.Qa, "x", ReleaseObstacle.Standing, "K-1: found no washing of it that was judged; it can only be held")]
    public void A_refusal_says_what_was_found_and_what_is_allowed(string keg, KegDecision decision, Role role, string? reason, ReleaseObstacle obstacle, string text) =>
        Assert.Equal(new ReleaseProblem(obstacle, text), ReleaseRules.Problem(Kegs[keg]().File, decision, role, reason));

    private static string Allowed(KegFile file, Role? role) =>
        string.Join(' ', ReleaseRules.Allowed(file, role).Select(a => a.Decision.ToString().ToLowerInvariant() + (a.NeedsReason ? "*" : "")));
}
