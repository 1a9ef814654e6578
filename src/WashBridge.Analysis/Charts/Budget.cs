namespace WashBridge.Analysis.Charts;

/// <summary>How a washer's promise is shared: expected false alarms of all charts together are one in so many cycles.</summary>
/// <param name="every">The washer's promise.</param>
internal sealed class Budget(double every)
{
    private const double FiguresShare = 0.85;
    private const double GroupsShare = 0.10;
    private const double PeersShare = 0.05;

    // What the charts' limits are made for: beyond it nothing is ever told.
    private const double MostEvery = 1e9;
    private readonly Dictionary<double, ChartDesign> _designs = [];

    /// <param name="figures">Figures with charts; one that is there in half of the cycles counts for a half.</param>
    public ChartDesign OfFigures(double figures) => Design(every * Math.Max(1, figures) / FiguresShare);

    /// <inheritdoc cref="OfFigures"/>
    public ChartDesign OfPeers(double figures) => Design(every * Math.Max(1, figures) / PeersShare);

    /// <summary>Cycles for one false alarm of each group.</summary>
    public double OfGroups(int groups) => Math.Min(MostEvery, every * Math.Max(1, groups) / GroupsShare);

    /// <summary>A design made before for the same promise is used again: working out limits takes a while.</summary>
    public ChartDesign Design(double promise)
    {
        // Two digits are enough, and keep the designs few.
        var digits = Math.Pow(10, Math.Floor(Math.Log10(promise)) - 1);
        var rounded = Math.Min(MostEvery, Math.Round(promise / digits) * digits);
        if (!_designs.TryGetValue(rounded, out var design))
        {
            _designs.Add(rounded, design = new ChartDesign(rounded));
        }

        return design;
    }
}
