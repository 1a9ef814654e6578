using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>What people did, as tables.</summary>
internal static class RecordTables
{
    /// <summary>All kinds of records but scans, which are as many as kegs.</summary>
    public static string[] Kinds { get; } = [.. WashJson.RecordKinds.Where(k => k != "keg-scanned").Order(StringComparer.Ordinal)];

    public static Table Of(string id, IEnumerable<(long? Number, WashEvent Told, WashEvent? Corrected, int Trace)> records, string empty) => new(
        id,
        ["record", "when", "what", "by", "why", "corrected"],
        [
            .. records.Select(r =>
            {
                var act = (r.Told as IRecord)?.Act;
                return (IReadOnlyList<Cell>)
                [
                    r.Number is { } number ? $"no. {number}" : "", new InstantCell(r.Told.At.Latest) { Traces = [r.Trace] }, RecordWords.What(r.Told), act is null ? "" : RecordWords.Who(act), act?.Reason ?? "",
                    r.Corrected is { } corrected ? RecordWords.What(corrected) : "",
                ];
            }),
        ])
    {
        Empty = empty,
    };

    /// <summary>The record at a place of the log; null: there is none.</summary>
    public static RecordEntry? At(IHistorianReader historian, long sequence)
    {
        // Numbers grow with places in the log. One that is damaged is left out, and the next one is read in its place.
        var (low, high) = (0L, historian.RecordHead?.Number ?? 0);
        while (low < high)
        {
            var middle = (low + high) / 2;
            var found = historian.ReadRecords(middle, 1) is [var next] ? next : null;
            if (found?.Sequence == sequence)
            {
                return found;
            }

            (low, high) = found is not null && found.Sequence < sequence ? (found.Number, high) : (low, middle);
        }

        return null;
    }
}
