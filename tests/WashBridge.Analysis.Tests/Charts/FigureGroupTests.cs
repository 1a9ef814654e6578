using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Charts;

/// <summary>Six figures that go together: scores with a correlation of 0.6 between neighbours.</summary>
public sealed class FigureGroupTests
{
    private const int Figures = 6;
    private static readonly string[] Members = [.. Enumerable.Range(0, Figures).Select(i => $"f{i}")];
    private ulong _state = 77;

    [Fact]
    public void One_false_alarm_in_as_many_cycles_as_promised()
    {
        // 400,000 cycles with one false alarm in 1,000: 25 % are five standard errors.
        var (cycles, alarms) = (0, 0);
        for (var run = 0; run < 40; run++)
        {
            var group = New(1000);
            for (var i = 0; i < 10_000; i++)
            {
                cycles += group.IsDrifting || i < 200 ? 0 : 1;
                alarms += group.Accept(i, Scores()) is GroupSignal ? 1 : 0;
            }
        }

        Assert.InRange(alarms * 1000.0 / cycles, 0.7, 1.25);
    }

    [Fact]
    public void A_change_against_the_way_in_which_figures_go_is_found_and_those_that_carry_it_are_named()
    {
        var hits = 0;
        var delays = new List<int>();
        for (var run = 0; run < 40; run++)
        {
            var group = New(100_000);
            for (var i = 0; i < 1000; i++)
            {
                group.Accept(i, Scores());
            }

            // Neighbours that usually move together move apart by one standard deviation each.
            GroupSignal? signal = null;
            var at = 1000;
            for (; signal is null; at++)
            {
                var scores = Scores();
                scores[2] += 1;
                scores[3] -= 1;
                signal = group.Accept(at, scores) as GroupSignal;
            }

            delays.Add(at - 1000);
            hits += signal.Contributions.Take(2).Select(c => c.Feature).Order(StringComparer.Ordinal).SequenceEqual(["f2", "f3"]) ? 1 : 0;
            Assert.Equal(1, signal.Contributions.Sum(c => c.Share), 0.06);
            Assert.InRange(signal.Size, 1, 6);
        }

        Assert.InRange(hits, 36, 40);
        Assert.InRange(delays.Average(), 4, 16);
    }

    [Fact]
    public void A_group_that_is_back_says_so()
    {
        var group = New(100_000);
        var news = new List<(int At, GroupNews News)>();
        for (var i = 0; i < 2000; i++)
        {
            var scores = Scores();
            scores[0] += i is >= 1000 and < 1500 ? 2 : 0;
            if (group.Accept(i, scores) is { } told)
            {
                news.Add((i, told));
            }
        }

        Assert.Equal([typeof(GroupSignal), typeof(GroupReturn)], news.Select(n => n.News.GetType()));
        Assert.InRange(news[0].At, 1000, 1015);
        Assert.InRange(news[1].At, 1500, 1520);
    }

    [Fact]
    public void While_it_stands_still_nothing_adds_up()
    {
        var group = New(100_000);
        for (var i = 0; i < 1000; i++)
        {
            group.Accept(i, Scores());
        }

        for (var i = 0; i < 300; i++)
        {
            var scores = Scores();
            scores[0] += 2;
            if (i % 3 == 2)
            {
                group.StandStill();
            }
            else
            {
                Assert.Null(group.Accept(1000 + i, scores));
            }
        }
    }

    [Theory]
    [InlineData("drain-index", "group/drains")]
    [InlineData("strength/acid", "group/bath/acid")]
    [InlineData("heater-time/caustic", "group/bath/caustic,group/temperatures")]
    [InlineData("timing", "")]
    public void Each_figure_knows_its_groups(string name, string groups) => Assert.Equal(groups, string.Join(',', FigureGroups.Of(name)));

    private static FigureGroup New(double every)
    {
        var group = new FigureGroup("group/test", Members);
        group.Promise(every);
        return group;
    }

    private float[] Scores()
    {
        var scores = new float[Figures];
        var before = Normal();
        for (var i = 0; i < Figures; i++)
        {
            before = (0.6 * before) + (0.8 * Normal());
            scores[i] = (float)before;
        }

        return scores;
    }

    private double Normal()
    {
        _state = DeterministicHash.Combine(_state, 3);
        return StandardNormal.Quantile(DeterministicHash.Uniform(_state));
    }
}
