using WashBridge.Core.Sampling;

namespace WashBridge.Core.Tests.Sampling;

public sealed class RandomChoiceTests
{
    private static readonly string[] Lot = [.. Enumerable.Range(1, 480).Select(i => $"K-{i:0000}")];

    /// <summary>The example of SAMPLING.md, computed there by another language.</summary>
    [Fact]
    public void The_documented_example()
    {
        Assert.Equal(["K-0084", "K-0374", "K-0153", "K-0337", "K-0063", "K-0346"], RandomChoice.Choose("lot 2031-03-05 early", Lot, 6));
        Assert.Equal("71475611a2b8587c7ea4c6e67fc13576c874e5edd791b379aa99c92c89d92e97", RandomChoice.Fingerprint(Lot));
    }

    [Fact]
    public void The_order_of_the_list_does_not_matter_and_more_go_on_where_fewer_ended()
    {
        Assert.Equal(RandomChoice.Choose("s", Lot, 50), RandomChoice.Choose("s", [.. Lot.Reverse()], 50));
        Assert.Equal(RandomChoice.Choose("s", Lot, 50), RandomChoice.Choose("s", Lot, 80).Take(50));
        Assert.Equal(RandomChoice.Fingerprint(Lot), RandomChoice.Fingerprint([.. Lot.Reverse()]));
        Assert.NotEqual(RandomChoice.Fingerprint(Lot), RandomChoice.Fingerprint(Lot[1..]));
    }

    [Fact]
    public void Nothing_is_chosen_twice_and_all_is_all()
    {
        Assert.Equal(Lot, RandomChoice.Choose("s", Lot, Lot.Length).Order(StringComparer.Ordinal));
        Assert.Empty(RandomChoice.Choose("s", Lot, 0));
        Assert.Empty(RandomChoice.Choose("s", [], 0));
    }

    /// <summary>Every pair of eight kegs equally often over 28,000 seeds: chi-square of 27 degrees of freedom is above 55.5 by chance once in a thousand.</summary>
    [Fact]
    public void Every_pair_is_equally_likely()
    {
        var lot = Lot[..8];
        var counts = new Dictionary<string, int>();
        for (var seed = 0; seed < 28_000; seed++)
        {
            var pair = string.Join(' ', RandomChoice.Choose($"{seed}", lot, 2).Order(StringComparer.Ordinal));
            counts[pair] = counts.GetValueOrDefault(pair) + 1;
        }

        Assert.Equal(28, counts.Count);
        Assert.InRange(counts.Values.Sum(c => (c - 1000.0) * (c - 1000.0) / 1000), 5, 55.5);
    }

    [Fact]
    public void What_cannot_be_is_refused()
    {
        Assert.Equal("seed's length: found 0; allowed: 1 to 200", Assert.Throws<SamplingException>(() => RandomChoice.Choose("", Lot, 1)).Message);
        Assert.Equal("sample size: found 481; allowed: 0 to 480", Assert.Throws<SamplingException>(() => RandomChoice.Choose("s", Lot, 481)).Message);
        Assert.Equal("keg ids: found K-0001 twice; allowed: each once", Assert.Throws<SamplingException>(() => RandomChoice.Choose("s", [.. Lot, "K-0001"], 1)).Message);
        Assert.Equal("keg id: found one with a line feed; allowed: ids of one line", Assert.Throws<SamplingException>(() => RandomChoice.Fingerprint(["a\nb"])).Message);
    }
}
