using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Lots;

namespace WashBridge.Web.Trends;

/// <summary>All lots that were drawn from, as they stand.</summary>
internal sealed class LotBook(IHistorian historian)
{
    /// <summary>In the order in which they were drawn.</summary>
    public IReadOnlyList<LotStanding> All => LotStanding.Of(
        [.. CorrectedRecords.Read<LotSampled>(historian, "lot-sampled", null).Select(l => l.Told)],
        [.. CorrectedRecords.Read<KegInspected>(historian, "keg-inspected", null).Select(i => i.Holds)]);
}
