using CsCheck;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using static WashBridge.Core.Tests.Recipes.Book.Acts;

namespace WashBridge.Core.Tests.Recipes.Book;

public sealed class RecipeBookTests
{
    [Fact]
    public void A_file_is_in_force_until_an_approved_version_is()
    {
        var book = BookOf(Draft(0, "A. Uthor"), Act(1, RecipeStep.Submitted, "A. Uthor"), Approve(2, "Q. Ality", from: 60));
        Assert.Empty(book.Misfits);
        Assert.Equal(1, book.InForce(Recipe(1), At(59.999)).Version);
        Assert.Equal(2, book.InForce(Recipe(1), At(60)).Version);
        Assert.Equal(At(60), book.Find("full", 1)!.Until);
        Assert.Equal("other", book.InForce(Recipe(1, id: "other"), At(60)).Id);
    }

    [Fact]
    public void Every_content_of_a_draft_is_kept_and_the_last_is_what_is_approved()
    {
        var first = Draft(0, "A. Uthor", hold: 40);
        var book = BookOf(first, Draft(1, "K. Wash", hold: 41, was: first.Id), Act(2, RecipeStep.Submitted, "A. Uthor"), Approve(3, "Q. Ality"));
        var version = book.Find("full", 2)!;
        Assert.Equal([40.0, 41.0], version.Drafts.Select(d => ((StepTime)d.Recipe!.Requirements[0]).AtLeast!.Value.TotalSeconds));
        Assert.Equal(41.0, ((StepTime)book.InForce(Recipe(1), At(4)).Requirements[0]).AtLeast!.Value.TotalSeconds);
        Assert.Equal(["A. Uthor", "K. Wash"], version.Authors);
    }

    [Fact]
    public void Where_the_site_wants_two_people_one_approval_puts_nothing_in_force()
    {
        RecipeActed[] acts = [Draft(0, "A. Uthor"), Act(1, RecipeStep.Submitted, "A. Uthor"), Approve(2, "Q. Ality", from: 5, approvals: 2)];
        Assert.Equal(RecipeState.Submitted, BookOf(acts).Find("full", 2)!.State);
        Assert.Single(BookOf([.. acts, Approve(3, " q. ality ", approvals: 2)]).Misfits);
        var approved = BookOf([.. acts, Approve(9, "K. Wash", from: 7, approvals: 2)]).Find("full", 2)!;

        // Never before the last approval, whatever dates were given.
        Assert.Equal((RecipeState.Approved, At(9)), (approved.State, approved.From));
    }

    [Fact]
    public void Who_changes_a_draft_that_another_changed_in_between_must_look_again()
    {
        var first = Draft(0, "A. Uthor");
        var book = BookOf(first, Draft(1, "K. Wash", hold: 41, was: first.Id));
        Assert.Contains("K. Wash", RecipeRules.Problem(book, Draft(2, "A. Uthor", hold: 42, was: first.Id)), StringComparison.Ordinal);
    }

    [Fact]
    public void A_version_is_retired_only_before_it_is_in_force()
    {
        var book = BookOf(Draft(0, "A. Uthor"), Act(1, RecipeStep.Submitted, "A. Uthor"), Approve(2, "Q. Ality", from: 60));
        Assert.Equal(1, book.With(Act(59, RecipeStep.Retired, "Q. Ality")).InForce(Recipe(1), At(70)).Version);
        var late = book.With(Act(60, RecipeStep.Retired, "Q. Ality"));
        Assert.Equal(2, late.InForce(Recipe(1), At(70)).Version);
        Assert.Contains("in force since", Assert.Single(late.Misfits).Problem, StringComparison.Ordinal);
    }

    [Theory]
    [MemberData(nameof(Wrong))]
    public void What_does_not_fit_is_told_and_changes_nothing(string part, RecipeActed wrong)
    {
        var book = BookOf(Draft(0, "A. Uthor"), Act(1, RecipeStep.Submitted, "A. Uthor"));
        var problem = RecipeRules.Problem(book, wrong);
        Assert.NotNull(problem);
        Assert.Contains(part, problem, StringComparison.Ordinal);
    }

    public static TheoryData<string, RecipeActed> Wrong { get; } = new()
    {
        { "recipe: found 'other'; the configuration has full", Act(2, RecipeStep.Submitted, "A. Uthor", id: "other") },
        { "a new draft is version 3", Draft(2, "A. Uthor", version: 4) },
        { "comes from a file", Act(2, RecipeStep.Submitted, "A. Uthor", version: 1) },
        { "is submitted; a change needs one that is a draft", Draft(2, "A. Uthor", hold: 50, was: "recipe/full/0") },
        { "A. Uthor wrote version 2", Approve(2, "A. Uthor") },
        { "A. Uthor wrote version 2", Approve(2, "a.  uthor") },
        { "from: found", Approve(2, "Q. Ality", from: 1.5) },
        { "approvals: found 3", Approve(2, "Q. Ality", approvals: 3) },
        { "reason: found nothing", Approve(2, "Q. Ality") with { Act = new Act { By = "Q. Ality" } } },
        { "by: found nothing", Approve(2, " ") },
        { "role: found operator; approving is for QA", Approve(2, "Q. Ality") with { Act = new Act { By = "Q. Ality", Reason = "x", Role = Role.Operator } } },
        { "role: found viewer", Act(2, RecipeStep.Withdrawn, "A. Uthor") with { Act = new Act { By = "A. Uthor", Reason = "x", Role = Role.Viewer } } },
    };

    [Fact]
    public void A_wrong_content_or_the_same_once_more_is_no_change()
    {
        var book = BookOf(Draft(0, "A. Uthor"));
        Assert.Contains("nothing is changed", RecipeRules.Problem(book, Draft(1, "A. Uthor", was: "recipe/full/0")), StringComparison.Ordinal);
        Assert.Contains("needs its own", RecipeRules.Problem(book, Draft(1, "A. Uthor", hold: 50, was: "recipe/full/0") with { Recipe = Recipe(3) }), StringComparison.Ordinal);
    }

    [Fact]
    public void A_file_that_says_something_else_than_the_book_is_told_and_the_book_holds()
    {
        RecipeActed[] acts = [Draft(0, "A. Uthor"), Act(1, RecipeStep.Submitted, "A. Uthor"), Approve(2, "Q. Ality")];
        Assert.Empty(RecipeConflicts.Find(BookOf(acts)));
        Assert.Empty(RecipeConflicts.Find(RecipeBook.Of([Recipe(2, 40)], acts)));
        var other = RecipeBook.Of([Recipe(2, 20)], acts);
        Assert.Contains("another content", Assert.Single(RecipeConflicts.Find(other)).Text, StringComparison.Ordinal);
        var higher = RecipeBook.Of([Recipe(3, 20)], acts);
        Assert.Contains("nobody approved", Assert.Single(RecipeConflicts.Find(higher)).Text, StringComparison.Ordinal);
        Assert.All([other, higher], b => Assert.Equal(40.0, ((StepTime)b.InForce(b.Configured[0], At(3)).Requirements[0]).AtLeast!.Value.TotalSeconds));
    }

    [Fact]
    public void No_order_of_acts_lets_anybody_approve_what_he_wrote_or_one_person_be_two() => Any.Sample(acts =>
    {
        foreach (var version in BookOf(acts).Versions("full").Where(v => v.State is RecipeState.Approved or RecipeState.Retired))
        {
            var approvers = version.ApprovalActs.Select(a => a.Act.By).ToList();
            Assert.Empty(approvers.Intersect(version.Drafts.Select(d => d.Act.By)));
            Assert.Equal(approvers.Count, approvers.Distinct().Count());
            Assert.True(approvers.Count >= version.ApprovalActs.Last().Approvals);
        }
    });

    [Fact]
    public void Versions_in_force_never_overlap_and_their_dates_and_numbers_rise_together() => Any.Sample(acts =>
    {
        var book = BookOf(acts);
        var approved = book.Versions("full").Where(v => v.State == RecipeState.Approved).ToList();
        for (var i = 0; i < approved.Count; i++)
        {
            Assert.Equal(i + 1 < approved.Count ? approved[i + 1].From : null, approved[i].Until);
            Assert.True(i == 0 || approved[i - 1].From < approved[i].From);
        }

        for (var minute = -1; minute < 120; minute++)
        {
            Assert.True(approved.Count(v => v.IsInForce(At(minute))) <= 1);
        }
    });

    /// <summary>Whatever people do, a cycle that began before it is judged as it would have been.</summary>
    [Fact]
    public void In_force_never_reaches_back() => Any.Sample(acts =>
    {
        var book = BookOf();
        foreach (var acted in acts)
        {
            var after = book.With(acted);
            for (var at = -1.0; At(at) < acted.At.Earliest; at += 0.5)
            {
                Assert.Equal(book.InForce(Recipe(1), At(at)).Version, after.InForce(Recipe(1), At(at)).Version);
            }

            book = after;
        }
    });

    [Fact]
    public void What_does_not_fit_could_as_well_not_have_been_done() => Any.Sample(acts =>
    {
        var book = BookOf(acts);
        var misfits = book.Misfits.Select(m => m.Acted).ToHashSet();
        var without = BookOf(acts.Where(a => !misfits.Contains(a)));
        Assert.Empty(without.Misfits);
        Assert.Equal(book.Versions("full").Select(v => (v.Number, v.State, v.From, v.Until)), without.Versions("full").Select(v => (v.Number, v.State, v.From, v.Until)));
    });

    /// <summary>These acts do come as far as approvals, refusals and retirements: the properties above are about something.</summary>
    [Fact]
    public void The_invented_acts_reach_every_state()
    {
        var reached = new HashSet<RecipeState>();
        Any.Sample(acts =>
        {
            lock (reached)
            {
                reached.UnionWith(BookOf(acts).Versions("full").Select(v => v.State));
            }
        }, iter: 500);
        Assert.Superset(new HashSet<RecipeState> { RecipeState.Draft, RecipeState.Submitted, RecipeState.Approved, RecipeState.Refused, RecipeState.Retired }, reached);
    }

    [Fact]
    public void An_act_reads_back_as_it_was_written()
    {
        var acted = Draft(0, "A. Uthor") with { From = At(3), Approvals = 2 };
        var back = Assert.IsType<RecipeActed>(WashJson.ReadEvent(WashJson.Write(acted)));
        Assert.Equal(WashJson.Write(acted), WashJson.Write(back));
        Assert.True(RecipeContent.Same(acted.Recipe!, back.Recipe!));
    }

    [Fact]
    public void The_order_of_setpoints_makes_no_other_recipe()
    {
        var (a, b) = (new ApprovedSetpoint(1, "s"), new ApprovedSetpoint(2, "s"));
        var one = Recipe(1) with { Setpoints = new Dictionary<string, ApprovedSetpoint> { ["a"] = a, ["b"] = b } };
        var other = Recipe(1) with { Setpoints = new Dictionary<string, ApprovedSetpoint> { ["b"] = b, ["a"] = a } };
        Assert.True(RecipeContent.Same(one, other));
        Assert.Equal(RecipeContent.Fingerprint(one), RecipeContent.Fingerprint(other));
        Assert.NotEqual(RecipeContent.Fingerprint(one), RecipeContent.Fingerprint(Recipe(1)));
    }
}
