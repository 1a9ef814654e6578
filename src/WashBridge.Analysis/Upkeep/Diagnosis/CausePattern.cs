namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>What a cause would let one expect.</summary>
/// <param name="Name">Such as <c>clogging-valve</c>.</param>
/// <param name="Title">For people.</param>
/// <param name="Prior">Belief before any evidence, relative to the other causes.</param>
/// <param name="Expected">By sign; of signs not named nothing is expected.</param>
public sealed record CausePattern(string Name, string Title, double Prior, IReadOnlyDictionary<string, Expectation> Expected)
{
    public static CausePattern Of(string name, string title, double prior, params (string Sign, double Value, double Tolerance)[] expected)
    {
        ArgumentNullException.ThrowIfNull(expected);
        return new(name, title, prior, expected.ToDictionary(e => e.Sign, e => new Expectation(e.Value, e.Tolerance), StringComparer.Ordinal));
    }
}

/// <param name="Value">-1 to 1.</param>
/// <param name="Tolerance">Standard deviation of the sign about it.</param>
public readonly record struct Expectation(double Value, double Tolerance);
