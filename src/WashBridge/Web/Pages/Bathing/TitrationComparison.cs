using WashBridge.Core.Records;
using WashBridge.Web.Trends;

namespace WashBridge.Web.Pages.Bathing;

/// <summary>A titration beside what was measured.</summary>
/// <param name="Titration">With corrections.</param>
/// <param name="Conductivity">Of the nearest cycle, mS/cm; null: none was near.</param>
/// <param name="Expected">What that conductivity lets expect by the bath's other titrations, in the titration's unit; null: too few others.</param>
internal sealed record TitrationLine(CorrectedRecord<TitrationRecorded> Titration, double? Conductivity, double? Expected)
{
    /// <summary>By how much it is above what was expected, as a share of it.</summary>
    public double? Difference => Expected is > 0 and { } expected ? (Titration.Holds.Strength - expected) / expected : null;
}

/// <summary>
/// Titrations and conductivity have different units, and what joins them depends on the chemical: the bath's own titrations tell. Each is compared with the median of all others, so that
/// none vouches for itself.
/// </summary>
/// <param name="Lines">The latest first.</param>
/// <param name="PerStrength">mS/cm for one unit of strength, by unit: median of all titrations that have a conductivity beside them; where there are enough.</param>
internal sealed record TitrationComparison(IReadOnlyList<TitrationLine> Lines, IReadOnlyDictionary<string, double> PerStrength)
{
    /// <summary>Others that a titration is compared with, at least.</summary>
    public const int LeastOthers = 2;

    /// <summary>A cycle further away says nothing of the bath then: it may have been dosed since.</summary>
    public static readonly TimeSpan Near = TimeSpan.FromHours(1);

    /// <param name="titrations">Of one bath, in any order.</param>
    /// <param name="strength">Its conductivity cycle by cycle, in order.</param>
    public static TitrationComparison Of(IReadOnlyList<CorrectedRecord<TitrationRecorded>> titrations, IReadOnlyList<FigurePoint> strength)
    {
        var beside = titrations.Select(t => (Titration: t, Conductivity: Nearest(strength, t.Holds))).ToList();
        var lines = beside.Select((b, i) => new TitrationLine(b.Titration, b.Conductivity, b.Conductivity is { } measured && PerUnit(beside.Where((_, j) => j != i), b.Titration.Holds.Unit, LeastOthers) is { } per ? measured / per : null));
        var units = titrations.Select(t => t.Holds.Unit).Distinct().Select(u => (Unit: u, Per: PerUnit(beside, u, LeastOthers))).Where(u => u.Per is not null);
        return new TitrationComparison([.. lines.OrderByDescending(l => l.Titration.Holds.At.Latest)], units.ToDictionary(u => u.Unit, u => u.Per!.Value, StringComparer.Ordinal));
    }

    private static double? PerUnit(IEnumerable<(CorrectedRecord<TitrationRecorded> Titration, double? Conductivity)> beside, string unit, int least)
    {
        var ratios = beside.Where(b => b.Titration.Holds.Unit == unit && b.Titration.Holds.Strength > 0 && b.Conductivity > 0).Select(b => b.Conductivity!.Value / b.Titration.Holds.Strength).Order().ToList();
        return ratios.Count < least ? null : ratios.Count % 2 == 1 ? ratios[ratios.Count / 2] : (ratios[(ratios.Count / 2) - 1] + ratios[ratios.Count / 2]) / 2;
    }

    private static double? Nearest(IReadOnlyList<FigurePoint> strength, TitrationRecorded titration) =>
        strength.Where(p => (p.At - titration.At.Latest).Duration() <= Near).OrderBy(p => (p.At - titration.At.Latest).Duration()).Select(p => (double?)p.Value).FirstOrDefault();
}
