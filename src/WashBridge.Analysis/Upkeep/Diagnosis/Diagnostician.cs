using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>
/// Ranks causes by how well their pattern fits the signs: each sign is normal about what the cause expects, and widely spread where it expects nothing.
/// How far it has come is not known: a mean over all severities from slight to full.
/// The weights are the posterior shares among the causes compared: a ranking, never a certainty.
/// </summary>
public static class Diagnostician
{
    /// <summary>Spread of a sign of which a cause says nothing.</summary>
    private const double Indifferent = 0.7;

    /// <summary>From here on a sign is said to have moved; so far from what was expected it speaks against a cause.</summary>
    private const double Moved = 0.3;
    private const double Clear = 0.6;

    private static readonly double[] Severities = [0.3, 0.5, 0.7, 0.85, 1];

    /// <summary>Two independent causes at once, or one that is not listed, keep every weight from being certain.</summary>
    private const double MostWeight = 0.99;

    /// <param name="signs">What was seen; signs that could not be seen are left out.</param>
    /// <param name="patterns">The causes to compare.</param>
    /// <returns>The best fitting first; by name where two are alike.</returns>
    public static IReadOnlyList<Cause> Rank(IReadOnlyList<Sign> signs, IReadOnlyList<CausePattern> patterns)
    {
        ArgumentNullException.ThrowIfNull(signs);
        ArgumentNullException.ThrowIfNull(patterns);
        if (signs.Count == 0 || patterns.Count == 0)
        {
            return [];
        }

        var logs = patterns.Select(p => Math.Log(p.Prior) + LogFit(signs, p)).ToArray();
        var best = logs.Max();
        var sum = logs.Sum(l => Math.Exp(l - best));
        return patterns
            .Select((p, i) => Explain(p, signs, Math.Min(MostWeight, Math.Exp(logs[i] - best) / sum)))
            .OrderByDescending(c => c.Weight)
            .ThenBy(c => c.Name, StringComparer.Ordinal)
            .ToList();
    }

    private static double LogFit(IReadOnlyList<Sign> signs, CausePattern pattern)
    {
        var logs = Severities.Select(severity => signs.Sum(s => LogFit(s, pattern, severity))).ToArray();
        var best = logs.Max();
        return best + Math.Log(logs.Average(l => Math.Exp(l - best)));
    }

    private static double LogFit(Sign sign, CausePattern pattern, double severity)
    {
        var (value, tolerance) = pattern.Expected.TryGetValue(sign.Name, out var expected) ? (expected.Value, expected.Tolerance) : (0, Indifferent);
        var spread = Math.Sqrt((tolerance * tolerance) + (sign.Uncertainty * sign.Uncertainty));
        var off = (sign.Value - ((sign.IsShare ? 1 : severity) * value)) / spread;
        return (-0.5 * off * off) - Math.Log(spread);
    }

    private static Cause Explain(CausePattern pattern, IReadOnlyList<Sign> signs, double weight)
    {
        var (speaksFor, against) = (new List<string>(), new List<string>());
        foreach (var sign in signs)
        {
            if (!pattern.Expected.TryGetValue(sign.Name, out var expected))
            {
                continue;
            }

            // In the direction expected, or still where nothing was expected to move.
            var isStill = Math.Abs(sign.Value) < Moved;
            if (Math.Abs(expected.Value) < Moved ? isStill : !isStill && Math.Sign(sign.Value) == Math.Sign(expected.Value))
            {
                speaksFor.Add(sign.Says);
            }
            else if (Math.Abs(sign.Value - expected.Value) >= Math.Max(Clear, expected.Tolerance))
            {
                against.Add(sign.Says);
            }
        }

        return new Cause(pattern.Name, pattern.Title, Math.Round(weight, 3), speaksFor, against);
    }
}
