using WashBridge.Analysis.Charts;

namespace WashBridge.Analysis.Tests.Charts;

public sealed class ScoreMemoryTests
{
    [Fact]
    public void Scores_that_hang_together_become_independent_and_others_stay_as_they_are()
    {
        var (free, tied) = (Scores(0), Scores(0.4));
        var memory = new ScoreMemory();
        memory.Fit(free.AsSpan(0, 2000));
        Assert.Equal(free[2000..], free[2000..].Select(memory.Take));

        memory.Fit(tied.AsSpan(0, 2000));
        var rest = tied[2000..].Select(memory.Take).ToArray();
        Assert.InRange(Lagged(tied), 0.3, 0.5);
        Assert.InRange(Lagged(rest), -0.05, 0.05);
        Assert.Equal(1, rest.Average(r => r * r), 0.1);
    }

    private static double[] Scores(double memory)
    {
        var plant = new Plant("normal", 7);
        var before = 0.0;
        return [.. Enumerable.Range(0, 6000).Select(_ => before = (memory * before) + (Math.Sqrt(1 - (memory * memory)) * plant.Next()!.Value))];
    }

    private static double Lagged(double[] values) => values.Skip(1).Zip(values, (a, b) => a * b).Average() / values.Average(v => v * v);
}
