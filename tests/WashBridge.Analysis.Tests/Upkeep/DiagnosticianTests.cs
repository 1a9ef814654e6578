using CsCheck;
using WashBridge.Analysis.Upkeep.Diagnosis;

namespace WashBridge.Analysis.Tests.Upkeep;

public sealed class DiagnosticianTests
{
    public static TheoryData<string, string> AllCauses { get; } = new(Groups.SelectMany(g => g.Value.Select(p => (g.Key, p.Name))));

    private static Dictionary<string, IReadOnlyList<CausePattern>> Groups => new()
    {
        ["drain"] = CausePatterns.Drain,
        ["spray"] = CausePatterns.Spray,
        ["dosing"] = CausePatterns.Dosing,
        ["heating"] = CausePatterns.Heating,
        ["gas"] = CausePatterns.Gas,
    };

    [Theory]
    [MemberData(nameof(AllCauses))]
    public void Signs_as_a_cause_lets_expect_put_it_first(string group, string cause)
    {
        var patterns = Groups[group];
        var signs = patterns.Single(p => p.Name == cause).Expected.Select(e => new Sign(e.Key, e.Value.Value, e.Key)).ToList();
        Assert.Equal(cause, Diagnostician.Rank(signs, patterns)[0].Name);
    }

    [Fact]
    public void Weights_are_shares_and_fall()
    {
        var gen = Gen.Double[-1, 1].Array[5].Select(v => v.Zip(["drain", "others", "shape", "air", "liquid"], (x, n) => new Sign(n, x, n)).ToList());
        gen.Sample(signs =>
        {
            var causes = Diagnostician.Rank(signs, CausePatterns.Drain);
            Assert.Equal(CausePatterns.Drain.Count, causes.Count);
            Assert.InRange(causes.Sum(c => c.Weight), 0.9, 1.01);
            Assert.Equal(causes.OrderByDescending(c => c.Weight).Select(c => c.Weight), causes.Select(c => c.Weight));
            Assert.All(causes, c => Assert.InRange(c.Weight, 0, 0.99));
        });
    }

    [Fact]
    public void Each_cause_says_what_speaks_for_it_and_against_it()
    {
        var causes = Diagnostician.Rank([new("drain", 1, "the drain is slow"), new("air", -1, "the air is low"), new("others", 0.9, "all are slow")], CausePatterns.Drain);
        Assert.Equal("low-air", causes[0].Name);
        Assert.Contains("the air is low", causes[0].For);
        Assert.Contains("the air is low", causes.Single(c => c.Name == "clogging-valve").Against);
    }

    [Fact]
    public void A_sign_that_is_not_well_known_weighs_little()
    {
        double Weight(double uncertainty) =>
            Diagnostician.Rank([new("drain", 1, "late"), new("shape", 0, "alike", uncertainty, IsShare: true)], CausePatterns.Drain).Single(c => c.Name == "clogging-valve").Weight;
        Assert.True(Weight(0.05) < 0.05);
        Assert.InRange(Weight(2), 0.2, 0.5);
    }

    [Fact]
    public void A_share_is_the_same_in_a_slight_fault()
    {
        List<Sign> Signs(bool isShare) => [new("drain", 0.35, "a little late"), new("scatter", 0.9, "scatters", 0, isShare), new("bounce", 0.1, "bounces little")];
        double Weight(bool isShare) => Diagnostician.Rank(Signs(isShare), CausePatterns.Drain).Single(c => c.Name == "sticking-sensor").Weight;
        Assert.True(Weight(true) > Weight(false));
    }

    [Fact]
    public void Without_signs_nothing_is_said() => Assert.Empty(Diagnostician.Rank([], CausePatterns.Gas));
}
