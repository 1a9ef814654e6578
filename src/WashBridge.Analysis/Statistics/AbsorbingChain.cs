using System.Numerics;
using System.Runtime.InteropServices;

namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Mean number of steps until a Markov chain leaves its states, by elimination without subtraction (Grassmann, Taksar and Heyman 1985): chains that
/// leave once in 10^9 steps lose no digits, where 1 minus a sum that is almost 1 would lose nine.
/// </summary>
internal static class AbsorbingChain
{
    /// <param name="move">Rows: from a state; columns: probability of moving to a state. Is used up.</param>
    /// <param name="leave">Probability of leaving from each state; with the row's moves it makes 1. Is used up.</param>
    /// <returns>By the state in which it starts.</returns>
    public static double[] MeanSteps(double[][] move, double[] leave)
    {
        var n = leave.Length;
        var steps = new double[n];
        var weight = new double[n];
        Array.Fill(steps, 1);
        for (var k = n - 1; k > 0; k--)
        {
            var row = move[k].AsSpan(0, k);
            weight[k] = Sum(row) + leave[k];
            for (var i = 0; i < k; i++)
            {
                var share = move[i][k] / weight[k];
                if (share > 0)
                {
                    AddTimes(move[i].AsSpan(0, k), row, share);
                    leave[i] += share * leave[k];
                    steps[i] += share * steps[k];
                }
            }
        }

        steps[0] /= leave[0];
        for (var k = 1; k < n; k++)
        {
            for (var j = 0; j < k; j++)
            {
                steps[k] += move[k][j] * steps[j];
            }

            steps[k] /= weight[k];
        }

        return steps;
    }

    private static double Sum(ReadOnlySpan<double> values)
    {
        var sum = 0.0;
        foreach (var value in values)
        {
            sum += value;
        }

        return sum;
    }

    // Several at a time: nearly all of the work is here.
    private static void AddTimes(Span<double> target, ReadOnlySpan<double> source, double factor)
    {
        var wide = MemoryMarshal.Cast<double, Vector<double>>(target);
        var wideSource = MemoryMarshal.Cast<double, Vector<double>>(source);
        for (var j = 0; j < wide.Length; j++)
        {
            wide[j] += factor * wideSource[j];
        }

        for (var j = wide.Length * Vector<double>.Count; j < target.Length; j++)
        {
            target[j] += factor * source[j];
        }
    }
}
