namespace WashBridge.Analysis.Peers;

/// <summary>How one washer, or one station of a washer, stands among those that do the same work, in one figure.</summary>
/// <param name="Who">Washer, or washer and station as <c>north@2</c>.</param>
/// <param name="Feature">Name of the figure, without station.</param>
/// <param name="Unit">Of all values here; empty for ratios and counts.</param>
/// <param name="Cycles">How many cycles stand behind it.</param>
/// <param name="Median">Over those cycles.</param>
/// <param name="PeersMedian">Median of the medians of all others.</param>
/// <param name="Difference">Median less the peers'.</param>
/// <param name="Uncertainty">Standard uncertainty of the difference from the scatter of cycles alone, following values allowed to hang together.</param>
/// <param name="Probability">
/// Chance that one of so many peers differs at least so much though all are alike, where four or more are compared; null with fewer: how much
/// peers differ by nature can then not be told.
/// </param>
public sealed record PeerStanding(string Who, string Feature, string Unit, int Cycles, double Median, double PeersMedian, double Difference, double Uncertainty, double? Probability)
{
    /// <summary>The difference is more than scatter, and (where that can be told) more than what lies between peers by nature.</summary>
    public bool StandsOut => Math.Abs(Difference) > 3 * Uncertainty && Probability is { } probability && probability < PeerComparison.Rare;
}
