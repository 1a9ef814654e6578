using WashBridge.Pairing;

namespace WashBridge.Tests.Pairing;

public sealed class PairElectionTests
{
    private static readonly Standing Idle = new("b", Reads: false, IsFirst: false, IsWarm: false, HasNews: false);

    public static TheoryData<string, bool, bool> Alone => new()
    {
        { "it goes on reading", true, false },
        { "it goes on reading, whoever is silent", true, true },
        { "it waits for an answer", false, false },
        { "it reads when none has come for long", false, true },
    };

    [Theory]
    [MemberData(nameof(Alone))]
    public void Without_an_answer(string what, bool reads, bool isSilent) =>
        Assert.True(PairElection.Reads(Idle with { Reads = reads }, null, isSilent) == (reads || isSilent), what);

    [Fact]
    public void One_that_reads_goes_on_and_one_that_copies_goes_on_too()
    {
        var reading = Idle with { Store = "a", Reads = true };
        Assert.True(PairElection.Reads(reading, Idle with { IsFirst = true, IsWarm = true, HasNews = true }, false));
        Assert.False(PairElection.Reads(Idle with { IsFirst = true, IsWarm = true, HasNews = true }, reading, true));
    }

    [Fact]
    public void Where_neither_reads_the_one_that_missed_nothing_does_then_the_one_with_news_then_the_first()
    {
        var other = Idle with { Store = "a", IsFirst = true };
        Assert.True(PairElection.Reads(Idle with { IsWarm = true }, other with { HasNews = true }, false));
        Assert.True(PairElection.Reads(Idle with { HasNews = true }, other, false));
        Assert.False(PairElection.Reads(Idle, other, false));
        Assert.True(PairElection.Reads(other, Idle, false));
    }

    [Fact]
    public void Whatever_the_two_are_exactly_one_reads_once_both_have_heard_each_other()
    {
        foreach (var bits in Enumerable.Range(0, 256))
        {
            var flags = Enumerable.Range(0, 8).Select(b => (bits >> b & 1) == 1).ToList();
            var one = new Standing("a", flags[0], flags[1], flags[2], flags[3]);
            var other = new Standing("b", flags[4], flags[5], flags[6], flags[7]);
            Assert.NotEqual(PairElection.Reads(one, other, false), PairElection.Reads(other, one, false));
        }

    }
}
