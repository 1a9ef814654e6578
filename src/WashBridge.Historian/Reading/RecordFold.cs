using WashBridge.Core;
using WashBridge.Core.Records;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>The chain of records as it follows from the log alone, for historians that do not store it.</summary>
internal static class RecordFold
{
    private const int PageEvents = 1000;

    public static IReadOnlyList<RecordEntry> Of(IHistorianReader reader)
    {
        var records = new List<RecordEntry>();
        var hash = RecordChain.Beginning.ToArray();
        foreach (var (sequence, _, each) in Events(reader).Where(e => e.Event is IRecord))
        {
            hash = RecordChain.Hash(records.Count + 1, hash, sequence, RecordTable.Utf8(each!.Id), RecordTable.Utf8(WashJson.Write(each)));
            records.Add(new RecordEntry(records.Count + 1, sequence, each, RecordChain.Hex(hash)));
        }

        return records;
    }

    public static IReadOnlyList<KegEntry> OfKeg(IHistorianReader reader, string kegId)
    {
        var numbers = Of(reader).ToDictionary(r => r.Sequence, r => r.Number);
        var about = Events(reader).Where(e => e.Event is IAboutKegs about && about.Kegs.Contains(kegId)).ToList();
        var corrected = about.Select(e => e.Event).OfType<RecordCorrected>().Select(c => c.Number).ToHashSet();
        return [.. Events(reader).Where(e => about.Contains(e) || (numbers.TryGetValue(e.Sequence, out var number) && corrected.Contains(number)))
            .Select(e => new KegEntry(e.Sequence, numbers.TryGetValue(e.Sequence, out var number) ? number : null, e.Event!))];
    }

    private static IEnumerable<LogEntry> Events(IHistorianReader reader)
    {
        var after = 0L;
        while (reader.ReadLog(after, PageEvents, LogContent.Events) is { Count: > 0 } page)
        {
            foreach (var entry in page)
            {
                yield return entry;
            }

            after = page[^1].Sequence;
        }
    }
}
