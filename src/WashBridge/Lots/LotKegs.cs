using WashBridge.Core.Cycles;
using WashBridge.Core.Sampling;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;

namespace WashBridge.Lots;

/// <summary>The kegs of a period as a lot: each once, by its last washing, without those that must be washed again.</summary>
/// <param name="Kegs">By keg id.</param>
/// <param name="NotMet">Kegs left out because their last verdict is not met.</param>
/// <param name="Made">Kegs of the lot whose own id nobody told, named by washer, cycle and station.</param>
internal sealed record LotKegs(IReadOnlyDictionary<string, KegJudged> Kegs, int NotMet, int Made)
{
    public static LotKegs Read(IHistorianReader historian, Instant? from, Instant? until, string? washer)
    {
        var last = new Dictionary<string, KegJudged>(StringComparer.Ordinal);
        foreach (var judged in historian.ReadEvents(new EventQuery { Washer = washer, Kinds = ["keg-judged"], From = from, Until = until }).OfType<KegJudged>().OrderBy(e => e.At.Latest))
        {
            last[judged.Verdict.KegId] = judged;
        }

        var lot = last.Where(k => k.Value.Verdict.Verdict != Verdict.NotMet).ToDictionary(StringComparer.Ordinal);
        return new LotKegs(lot, last.Count - lot.Count, lot.Values.Count(k => k.Verdict.KegIdSource == KegIdSource.Made));
    }

    /// <summary>The kegs to open, in the order in which they were drawn.</summary>
    /// <exception cref="SamplingException">The lot has fewer.</exception>
    public IReadOnlyList<KegJudged> Draw(string seed, int size) => [.. RandomChoice.Choose(seed, [.. Kegs.Keys], size).Select(id => Kegs[id])];

    public string Fingerprint() => RandomChoice.Fingerprint([.. Kegs.Keys]);
}
