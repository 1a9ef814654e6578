using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Charts;

/// <summary>
/// What scores remember of those before although residuals, as numbers, do not: where most values lie close together and a few far off, the far ones hide how the
/// close ones hang together, and ranks bring it to light. Taken out in its turn, so that scores are independent.
/// </summary>
internal sealed class ScoreMemory
{
    private readonly double[] _before = new double[AutoRegression.MostLags];
    private AutoRegression _memory = AutoRegression.None(0);
    private double _scale = 1;

    /// <param name="scores">Of the reference, in order, standard normal; at least 20.</param>
    public void Fit(ReadOnlySpan<double> scores)
    {
        var fitted = AutoRegression.Fit(scores);
        (_memory, _scale) = (AutoRegression.Of(0, fitted.Coefficients), 1);
        if (fitted.Coefficients.Length == 0)
        {
            return;
        }

        Span<double> before = stackalloc double[AutoRegression.MostLags];
        before.Clear();
        var squares = 0.0;
        foreach (var score in scores)
        {
            var rest = _memory.Residual(score, before);
            squares += rest * rest;
            before[..^1].CopyTo(before[1..]);
            before[0] = score;
        }

        _scale = Math.Sqrt(squares / scores.Length);
    }

    /// <summary>The next score without what those before let expect of it.</summary>
    public double Take(double score)
    {
        var rest = _memory.Residual(score, _before) / _scale;
        Array.Copy(_before, 0, _before, 1, _before.Length - 1);
        _before[0] = score;
        return rest;
    }

    public void Clear()
    {
        Array.Clear(_before);
        (_memory, _scale) = (AutoRegression.None(0), 1);
    }

    public ScoreMemoryState Save() => new(_memory.Coefficients, _scale, [.. _before]);

    public void Load(ScoreMemoryState state)
    {
        (_memory, _scale) = (AutoRegression.Of(0, state.Coefficients), state.Scale);
        state.Before.CopyTo(_before, 0);
    }
}

/// <summary>What the memory of scores remembers.</summary>
internal sealed record ScoreMemoryState(double[] Coefficients, double Scale, double[] Before);
