using Microsoft.Data.Sqlite;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks;

/// <summary>SQLite, a row a sample, clustered by tag and time.</summary>
internal sealed class HistorianSqlitePeer : HistorianPeer
{
    private SqliteConnection? _connection;

    public override string Name => "SQLite rows";

    private SqliteConnection Connection => _connection!;

    public override void Open(string path)
    {
        _connection = new SqliteConnection($"Data Source={path};Pooling=False");
        _connection.Open();
        Execute("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; CREATE TABLE samples(tag INTEGER, at INTEGER, value REAL, quality INTEGER, PRIMARY KEY(tag, at)) WITHOUT ROWID;");
    }

    public override void Append(IReadOnlyList<Frame> frames) => Insert(Rows(frames));

    public override void Settle() => Execute("PRAGMA wal_checkpoint(TRUNCATE)");

    public override void AppendMonth(int seconds, int step) => Insert(MonthRows(seconds, step));

    public override long Trace(int washer, Instant from, Instant until)
    {
        using var command = Connection.CreateCommand();
        command.CommandText = "SELECT tag, at, value, quality FROM samples WHERE tag = $tag AND at BETWEEN $from AND $until";
        command.Parameters.AddWithValue("$tag", 0);
        command.Parameters.AddWithValue("$from", from.UnixMicroseconds);
        command.Parameters.AddWithValue("$until", until.UnixMicroseconds);
        long rows = 0;
        for (var tag = 0; tag < HistorianLine.Tags; tag++)
        {
            command.Parameters[0].Value = (washer * HistorianLine.Tags) + tag;
            using var reader = command.ExecuteReader();
            while (reader.Read())
            {
                _ = reader.GetInt64(1) + reader.GetDouble(2);
                rows++;
            }
        }

        return rows;
    }

    public override long HourByHour()
    {
        using var command = Connection.CreateCommand();
        command.CommandText = "SELECT at / 3600000000, count(*), min(value), max(value), avg(value) FROM samples WHERE tag = $tag GROUP BY 1";
        command.Parameters.AddWithValue("$tag", MonthTag);
        using var reader = command.ExecuteReader();
        long rows = 0;
        while (reader.Read())
        {
            rows++;
        }

        return rows;
    }

    public override void Dispose() => _connection?.Dispose();

    private void Insert(IEnumerable<(int Tag, long At, double Value)> rows)
    {
        using var transaction = Connection.BeginTransaction();
        using var command = Connection.CreateCommand();
        command.CommandText = "INSERT INTO samples VALUES($tag, $at, $value, 0)";
        var (tag, at, value) = (command.Parameters.Add("$tag", SqliteType.Integer), command.Parameters.Add("$at", SqliteType.Integer), command.Parameters.Add("$value", SqliteType.Real));
        foreach (var row in rows)
        {
            (tag.Value, at.Value, value.Value) = (row.Tag, row.At, row.Value);
            command.ExecuteNonQuery();
        }

        transaction.Commit();
    }

    private void Execute(string sql)
    {
        using var command = Connection.CreateCommand();
#pragma warning disable CA2100 // The SQL of this file only.
        command.CommandText = sql;
#pragma warning restore CA2100
        command.ExecuteNonQuery();
    }
}
