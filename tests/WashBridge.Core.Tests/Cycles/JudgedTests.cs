using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>That open edges reach the verdict as what they are.</summary>
public sealed class JudgedTests
{
    private static readonly Recipe Contact = new()
    {
        Id = "r",
        Version = 1,
        Requirements =
        [
            new ContactTime
            {
                Id = "dwell",
                From = new EdgeName("sanitise", StepKind.WallSpray, EdgeSide.End),
                To = new EdgeName("sanitise", StepKind.Hold, EdgeSide.End),
                AtLeast = TimeSpan.FromSeconds(10),
            },
        ],
    };

    [Fact]
    public void Contact_across_a_gap_is_not_proven_in_a_cycle_whose_start_nobody_saw()
    {
        const string Script = """
            1 step=21
            3
            5
            7 step=22
            9 step=31
            11
            13 step=32
            15
            17
            22
            24
            26 step=33
            27 step=41
            28 step=42
            29 step=0
            """;
        var cycle = Assert.Single(CyclesOf(Washers.Table(), Script));
        Assert.True(cycle.StartUnseen);
        var result = Judge.Decide(cycle, [.. Frames(Washers.Table(), Script)], Contact, [])[0].Results[0];
        Assert.Equal((Verdict.NotProven, 3.99), (result.Verdict, result.Lower!.Value));
    }

    [Fact]
    public void Contact_that_may_go_on_after_the_end_of_watching_has_no_upper_bound()
    {
        const string Script = """
            0 step=0
            1 step=31
            3 step=32
            5
            7
            100 step=32
            """;
        var cycle = Assert.Single(CyclesOf(Washers.Table(), Script));
        var result = Judge.Decide(cycle, [.. Frames(Washers.Table(), Script)], Contact, [])[0].Results[0];
        Assert.Equal((Verdict.NotProven, 3.99, null), (result.Verdict, result.Lower!.Value, result.Upper));
    }
}
