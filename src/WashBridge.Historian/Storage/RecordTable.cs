using WashBridge.Core;
using WashBridge.Core.Records;

namespace WashBridge.Historian.Storage;

/// <summary>The chain of records, for the one writer. It grows with the transaction that brings the event.</summary>
internal sealed class RecordTable(Database database)
{
    private (long Number, byte[] Hash) _head = Head(database);

    /// <summary>Number and hash of the last record; 0 and the beginning where there is none.</summary>
    public static (long Number, byte[] Hash) Head(Database database)
    {
        var row = database.Prepare("SELECT number, hash FROM records ORDER BY number DESC LIMIT 1");
        var head = row.Step() && row.Blob(1) is { Length: RecordChain.HashBytes } hash ? (row.Long(0), hash.ToArray()) : (0, RecordChain.Beginning.ToArray());
        row.Reset();
        return head;
    }

    /// <summary>Links the event just inserted.</summary>
    public void Add(long sequence, ReadOnlySpan<byte> id, ReadOnlySpan<byte> body)
    {
        var number = _head.Number + 1;
        var hash = RecordChain.Hash(number, _head.Hash, sequence, id, body);
        database.Prepare("INSERT INTO records VALUES(?, ?, ?, ?)").Bind(1, number).Bind(2, sequence).Bind(3, _head.Hash.AsSpan()).Bind(4, hash.AsSpan()).Run();
        _head = (number, hash);
    }

    /// <summary>The transaction was rolled back.</summary>
    public void Forget() => _head = Head(database);

    /// <summary>Links the records of a file that had no chain yet, in the order of the log, as they are stored.</summary>
    public static void Fill(Database database)
    {
        var records = new RecordTable(database);
        var rows = database.Prepare($"SELECT seq, id, body FROM events WHERE kind IN ({KindList}) ORDER BY seq");
        while (rows.Step())
        {
            records.Add(rows.Long(0), rows.Blob(1), rows.Blob(2));
        }
    }

    /// <summary>The kinds that are records, for a query.</summary>
    public static string KindList { get; } = string.Join(", ", WashJson.RecordKinds.Select(k => $"'{k}'"));

    public static byte[] Utf8(string text) => System.Text.Encoding.UTF8.GetBytes(text);

    public static string Text(ReadOnlySpan<byte> utf8) => System.Text.Encoding.UTF8.GetString(utf8);
}
