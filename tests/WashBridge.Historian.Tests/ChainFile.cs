using Microsoft.Data.Sqlite;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Cycles;

namespace WashBridge.Historian.Tests;

/// <summary>A historian at rest with a chain of records among other events, of which copies are tampered with by SQL, as somebody would who can write the file.</summary>
internal sealed class ChainFile : IDisposable
{
    private readonly Store _store = new();
    private readonly string _folder = Directory.CreateTempSubdirectory("chain").FullName;
    private int _copies;

    public ChainFile(int records)
    {
        Count = records;
        for (var i = 1; i <= records; i++)
        {
            _store.Historian.AppendEvents([Records.Titration(i, by: $"T. Ester {i}"), new TimePassed { Id = $"t{i}", Washer = "w1", At = TimeBounds.At(Store.At(i)) }]);
            _store.Historian.AppendFrames([LogTests.Frame(i)]);
        }

        Head = _store.Historian.RecordHead!;
        _store.Close();
    }

    public int Count { get; }

    public RecordHead Head { get; }

    /// <summary>Where record n lies in the log.</summary>
    public static long SequenceOf(int number) => (3 * number) - 2;

    /// <summary>Tampers with a copy and checks it.</summary>
    public RecordCheck After(Action<SqliteConnection> tamper, RecordHead? expected = null)
    {
        var path = Path.Combine(_folder, $"{_copies++}.washdb");
        File.Copy(_store.Path, path);
        using (var connection = new SqliteConnection($"Data Source={path};Pooling=False"))
        {
            connection.Open();
            tamper(connection);
        }

        using var reader = Historian.OpenReader(path);
        var check = reader.VerifyRecords(expected);
        reader.Dispose();
        File.Delete(path);
        return check;
    }

    public static int Run(SqliteConnection connection, string sql, params (string Name, object Value)[] parameters)
    {
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The SQL of these tests only.
        command.CommandText = sql;
#pragma warning restore CA2100
        foreach (var (name, value) in parameters)
        {
            command.Parameters.AddWithValue(name, value);
        }

        return command.ExecuteNonQuery();
    }

    public static byte[] Bytes(SqliteConnection connection, string column, string from, long key)
    {
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The SQL of these tests only.
        command.CommandText = $"SELECT CAST({column} AS BLOB) FROM {from} = {key}";
#pragma warning restore CA2100
        return (byte[])command.ExecuteScalar()!;
    }

    /// <summary>Makes the chain anew from a record on, as somebody would who has read RECORDS.md.</summary>
    public static void Rechain(SqliteConnection connection, int from, int until)
    {
        for (var number = from; number <= until; number++)
        {
            var previous = number == 1 ? RecordChain.Beginning.ToArray() : Bytes(connection, "hash", "records WHERE number", number - 1);
            var sequence = SequenceOf(number);
            var hash = RecordChain.Hash(number, previous, sequence, Bytes(connection, "id", "events WHERE seq", sequence), Bytes(connection, "body", "events WHERE seq", sequence));
            Run(connection, "UPDATE records SET previous = $p, hash = $h WHERE number = $n", ("$p", previous), ("$h", hash), ("$n", number));
        }
    }

    /// <summary>Changes what a record says, with its checksum made right.</summary>
    public static void Edit(SqliteConnection connection, int number)
    {
        var body = RecordText(connection, number).Replace("\"strength\":2", "\"strength\":9", StringComparison.Ordinal);
        Write(connection, number, body);
    }

    public static string RecordText(SqliteConnection connection, int number) => System.Text.Encoding.UTF8.GetString(Bytes(connection, "body", "events WHERE seq", SequenceOf(number)));

    public static void Write(SqliteConnection connection, int number, string body) => Run(
        connection, "UPDATE events SET body = $b, checksum = $c WHERE seq = $s", ("$b", body), ("$c", Encoding.Checksum.Of(System.Text.Encoding.UTF8.GetBytes(body))), ("$s", SequenceOf(number)));

    public void Dispose()
    {
        _store.Dispose();
        Directory.Delete(_folder, recursive: true);
    }
}
