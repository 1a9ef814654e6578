using WashBridge.Analysis.Upkeep.Health;

namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>
/// How the dosings of one bath changed. A tube that tires and a line that empties while it stands both make a dosing longer and, on the mean of it, a second of it
/// less effective, so that it brings as much as before; where more is carried out of the bath it brings more. What differs is how far it goes: a line
/// holds so much and no more, while a tube loses ever more of every second.
/// </summary>
internal sealed class DosingEvidence
{
    /// <summary>Dosings are rare: so many are recent.</summary>
    public const int Recent = 12;

    private const double Clear = 3;
    private const double LeastLonger = 0.05;

    private DosingEvidence(Estimate longer, Estimate? second) => (Longer, Second) = (longer, second);

    /// <summary>Share by which a dosing takes longer than in the reference.</summary>
    public Estimate Longer { get; }

    /// <summary>What a second of dosing does, as a ratio to the reference; null: not measured.</summary>
    public Estimate? Second { get; }

    /// <returns>Null: no dosings were seen.</returns>
    public static DosingEvidence? Of(FeatureBook book, string bath) =>
        RatioOf(book, "dosing-time/" + bath) is { } time ? new DosingEvidence(time with { Value = time.Value - 1 }, RatioOf(book, "dosing-response/" + bath)) : null;

    /// <summary>Of what dosings take longer the share that brings more chemical, and not only as much as before; null: they do not clearly take longer, or what they do was not measured.</summary>
    public Estimate? Drawn() => Second is { } second && Longer.Value > Math.Max(LeastLonger, Clear * Longer.Uncertainty)
        ? new Estimate((((1 + Longer.Value) * second.Value) - 1) / Longer.Value, (1 + Longer.Value) * second.Uncertainty / Longer.Value)
        : null;

    private static Estimate? RatioOf(FeatureBook book, string name) =>
        book.Find(name, 0) is { } norm && FigureChange.Of(norm, Recent) is { Usual: > 0 } change ? new Estimate(change.Ratio, change.Uncertainty / change.Usual) : null;
}
