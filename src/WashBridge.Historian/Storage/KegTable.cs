using System.Text.Json;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Storage;

/// <summary>Which events are about which keg.</summary>
internal static class KegTable
{
    public static void Add(Database database, long sequence, WashEvent washEvent)
    {
        if (washEvent is not IAboutKegs { Kegs: var kegs })
        {
            return;
        }

        foreach (var keg in kegs)
        {
            Add(database, keg, sequence);
            if (washEvent is RecordCorrected corrected)
            {
                // The record that it corrects is now about this keg too.
                database.Prepare("INSERT OR IGNORE INTO kegs SELECT ?, event FROM records WHERE number = ?").Bind(1, keg).Bind(2, corrected.Number).Run();
            }
        }
    }

    /// <summary>For a file that had no such table yet. What cannot be read is left out, as it is everywhere.</summary>
    public static void Fill(Database database)
    {
        var rows = database.Prepare($"SELECT seq, body FROM events WHERE kind IN ({string.Join(", ", WashJson.KegKinds.Select(k => $"'{k}'"))}) ORDER BY seq");
        while (rows.Step())
        {
            try
            {
                Add(database, rows.Long(0), WashJson.ReadEvent(RecordTable.Text(EventBody.Read(rows, 1))));
            }
            catch (Exception unreadable) when (unreadable is JsonException or NotSupportedException or DamagedException)
            {
            }
        }
    }

    private static void Add(Database database, string keg, long sequence) =>
        database.Prepare("INSERT OR IGNORE INTO kegs VALUES(?, ?)").Bind(1, keg).Bind(2, sequence).Run();
}
