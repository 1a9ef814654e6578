using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;

namespace WashBridge.Web.Trends;

/// <summary>A record as it was told, and as it holds.</summary>
/// <param name="Told">As it is in the log.</param>
/// <param name="Holds">With the corrections; the same where there is none.</param>
/// <param name="Corrections">In order.</param>
public sealed record CorrectedRecord<T>(T Told, T Holds, IReadOnlyList<RecordCorrected> Corrections)
    where T : WashEvent;

/// <summary>Records of a kind with their corrections beside them.</summary>
internal static class CorrectedRecords
{
    /// <param name="washer">Null: of all.</param>
    /// <returns>In the order of the log.</returns>
    public static IReadOnlyList<CorrectedRecord<T>> Read<T>(IHistorianReader historian, string kind, string? washer)
        where T : WashEvent
    {
        var corrections = historian.ReadEvents(new EventQuery { Kinds = ["record-corrected"] }).OfType<RecordCorrected>().Where(c => c.Of == kind)
            .GroupBy(c => c.Number)
            .Select(g => (Id: historian.ReadRecords(g.Key - 1, 1).FirstOrDefault(r => r.Number == g.Key)?.Event.Id, All: g.ToList()))
            .Where(c => c.Id is not null)
            .ToDictionary(c => c.Id!, c => c.All, StringComparer.Ordinal);
        return
        [
            .. historian.ReadEvents(new EventQuery { Washer = washer, Kinds = [kind] }).OfType<T>().Select(told => corrections.TryGetValue(told.Id, out var own)
                ? new CorrectedRecord<T>(told, (T)Corrections.Apply(told, own), own)
                : new CorrectedRecord<T>(told, told, [])),
        ];
    }
}
