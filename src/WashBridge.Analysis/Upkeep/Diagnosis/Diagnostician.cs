using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>
/// Ranks causes by how well their pattern fits the signs: each sign is normal about what the cause expects, and widely spread where it expects nothing.
/// The weights are the posterior shares among the causes compared: a ranking, never a certainty.
/// </summary>
public static class Diagnostician
{
    /// <summary>Spread of a sign of which a cause says nothing.</summary>
    private const double Indifferent = 0.7;

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

        var logs = patterns.Select(p => Math.Log(p.Prior) + signs.Sum(s => LogFit(s, p))).ToArray();
        var best = logs.Max();
        var sum = logs.Sum(l => Math.Exp(l - best));
        return patterns
            .Select((p, i) => Explain(p, signs, Math.Min(MostWeight, Math.Exp(logs[i] - best) / sum)))
            .OrderByDescending(c => c.Weight)
            .ThenBy(c => c.Name, StringComparer.Ordinal)
            .ToList();
    }

    private static double LogFit(Sign sign, CausePattern pattern)
    {
        if (!pattern.Expected.TryGetValue(sign.Name, out var expected))
        {
            return (-0.5 * sign.Value * sign.Value / (Indifferent * Indifferent)) - Math.Log(Indifferent);
        }

        var off = (sign.Value - expected.Value) / expected.Tolerance;
        return (-0.5 * off * off) - Math.Log(expected.Tolerance);
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

            var off = Math.Abs(sign.Value - expected.Value);
            if (off >= Math.Max(0.6, expected.Tolerance))
            {
                against.Add(sign.Says);
            }
            else if (off <= 0.5)
            {
                speaksFor.Add(sign.Says);
            }
        }

        return new Cause(pattern.Name, pattern.Title, Math.Round(weight, 3), speaksFor, against);
    }
}
