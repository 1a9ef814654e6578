using System.Collections.Concurrent;
using CsCheck;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;

namespace WashBridge.Simulator.Tests.Judging;

/// <summary>From a washer's physics through polls, gaps and clock steps to verdicts, against what really happened.</summary>
public sealed class JudgedTruthTests(ITestOutputHelper output)
{
    private static readonly TimeSpan TwoCycles = TimeSpan.FromSeconds(500);

    [Fact]
    public void No_keg_that_fell_short_is_ever_met_and_none_that_had_it_is_ever_not_met()
    {
        var counts = new ConcurrentDictionary<(string Requirement, bool Truly, Verdict Verdict), int>();
        Gen.Int[0, 100_000_000].Sample(seed =>
        {
            var (washer, polling) = RandomWashers.Faulty(seed);
            var cycles = JudgedRun.Of(washer, polling, RandomWashers.Recipe, TwoCycles);

            // A controller that shows idle for a moment after a restart, and then goes on, ends one record and begins another: neither has it all.
            var parted = cycles.SelectMany(c => c.Truth).GroupBy(t => t.Number).Where(g => g.Count() > 1).Select(g => g.Key).ToHashSet();
            foreach (var cycle in cycles)
            {
                foreach (var keg in cycle.Kegs)
                {
                    Check(cycle, keg, washer, parted, counts);
                }
            }
        }, iter: 150);

        foreach (var (key, count) in counts.OrderBy(c => c.Key.ToString(), StringComparer.Ordinal))
        {
            output.WriteLine($"{key.Requirement,-10} {(key.Truly ? "had it" : "short"),-7} {key.Verdict,-10} {count}");
        }

        // The faults are such that every requirement was truly missed now and then, and proven now and then.
        foreach (var requirement in RandomWashers.Recipe.Requirements)
        {
            Assert.True(counts.ContainsKey((requirement.Id, true, Verdict.Met)), requirement.Id);
        }

        Assert.Contains(counts.Keys, k => k is { Requirement: "hold", Truly: false, Verdict: Verdict.NotMet });
    }

    [Fact]
    public void With_good_polls_every_good_keg_is_met() =>
        Gen.Int[0, 100_000_000].Sample(seed =>
        {
            var (washer, polling) = RandomWashers.Good(seed);
            var cycles = JudgedRun.Of(washer, polling, RandomWashers.Recipe, TwoCycles);
            Assert.NotEmpty(cycles);
            foreach (var keg in cycles.SelectMany(c => c.Kegs))
            {
                Assert.True(keg.Verdict == Verdict.Met, string.Join("; ", keg.Results.Where(r => r.Verdict != Verdict.Met).Select(r => r.Evidence)));
            }
        }, iter: 25);

    private static void Check(JudgedCycle cycle, KegVerdict keg, WasherOptions washer, HashSet<int> parted, ConcurrentDictionary<(string, bool, Verdict), int> counts)
    {
        var programme = washer.Programmes[0].Phases.Select(p => p.Definition).ToList();
        foreach (var requirement in RandomWashers.Recipe.Requirements)
        {
            var result = keg.Results.Single(r => r.Requirement == requirement.Id);
            foreach (var truth in cycle.Truth.Where(t => t.End is not null && t.Kegs.Any(k => k.Station == keg.Station)))
            {
                if (TrueVerdicts.Holds(requirement, truth, keg.Station, programme) is not { } holds)
                {
                    continue;
                }

                counts.AddOrUpdate((requirement.Id, holds, result.Verdict), 1, (_, n) => n + 1);
                Assert.True(holds || result.Verdict != Verdict.Met, $"{cycle.Record.Id} station {keg.Station} {requirement.Id}: truly short, yet: {result.Evidence}");

                // Oxygen is calculated from what the recipe takes to be there before the first swing: the keg may have held less.
                Assert.True(!holds || result.Verdict != Verdict.NotMet || requirement is ResidualOxygen || parted.Contains(truth.Number), $"{cycle.Record.Id} station {keg.Station} {requirement.Id}: truly reached, yet: {result.Evidence}");
            }
        }
    }
}
