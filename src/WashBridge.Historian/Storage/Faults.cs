using SQLitePCL;

namespace WashBridge.Historian.Storage;

/// <summary>Turns SQLite's result codes (https://www.sqlite.org/rescode.html) into what they mean for the caller.</summary>
internal static class Faults
{
    public static bool IsDamage(int code) => Primary(code) is raw.SQLITE_CORRUPT or raw.SQLITE_NOTADB;

    public static HistorianException Describe(int code, string? detail, string path)
    {
        var (fault, problem) = Primary(code) switch
        {
            raw.SQLITE_FULL => (HistorianFault.Full, "the disk or the permitted size is full; nothing was stored, free space and try again"),
            raw.SQLITE_READONLY => (HistorianFault.ReadOnly, "file or folder is not writable for this user"),
            raw.SQLITE_BUSY or raw.SQLITE_LOCKED => (HistorianFault.Locked, "another process holds a lock on the file"),
            raw.SQLITE_CANTOPEN or raw.SQLITE_PERM or raw.SQLITE_AUTH => (HistorianFault.Unavailable, "the file cannot be opened"),
            raw.SQLITE_NOTADB => (HistorianFault.NotAHistorian, "the file is not a historian"),
            raw.SQLITE_CORRUPT => (HistorianFault.Damaged, "the file is damaged"),
            _ => (HistorianFault.Disk, "the store failed"),
        };
        return new HistorianException(fault, path, $"{problem} ({detail ?? "no detail"}, result code {code})");
    }

    /// <summary>The low byte is the primary code; the rest says more of the same.</summary>
    private static int Primary(int code) => code & 0xFF;
}
