using DuckDB.NET.Data;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks;

/// <summary>DuckDB, a row a sample through its appender, one transaction a second of data.</summary>
internal sealed class HistorianDuckPeer : HistorianPeer
{
    private DuckDBConnection? _connection;

    public override string Name => "DuckDB";

    private DuckDBConnection Connection => _connection!;

    public override void Open(string path)
    {
        _connection = new DuckDBConnection($"Data Source={path}");
        _connection.Open();
        Execute("CREATE TABLE samples(tag INTEGER, moment BIGINT, value DOUBLE, quality UTINYINT)");
    }

    public override void Append(IReadOnlyList<Frame> frames) => Insert(Rows(frames));

    public override void Settle() => Execute("CHECKPOINT");

    public override void AppendMonth(int seconds, int step)
    {
        Insert(MonthRows(seconds, step));
        Settle();
    }

    public override long Trace(int washer, Instant from, Instant until) => Count(
        $"SELECT tag, moment, value, quality FROM samples WHERE tag >= {washer * HistorianLine.Tags} AND tag < {(washer + 1) * HistorianLine.Tags} AND moment BETWEEN {from.UnixMicroseconds} AND {until.UnixMicroseconds} ORDER BY tag, moment");

    public override long HourByHour() => Count($"SELECT moment // 3600000000, count(*), min(value), max(value), avg(value) FROM samples WHERE tag = {MonthTag} GROUP BY 1 ORDER BY 1");

    public override void Dispose() => _connection?.Dispose();

    private void Insert(IEnumerable<(int Tag, long At, double Value)> rows)
    {
        using var transaction = Connection.BeginTransaction();
        using (var appender = Connection.CreateAppender("samples"))
        {
            foreach (var (tag, at, value) in rows)
            {
                appender.CreateRow().AppendValue(tag).AppendValue(at).AppendValue(value).AppendValue((byte)0).EndRow();
            }
        }

        transaction.Commit();
    }

    private long Count(string sql)
    {
        using var command = Connection.CreateCommand();
#pragma warning disable CA2100 // Numbers of this file only.
        command.CommandText = sql;
#pragma warning restore CA2100
        using var reader = command.ExecuteReader();
        long rows = 0;
        while (reader.Read())
        {
                        rows++;
        }

        return rows;
    }

    private void Execute(string sql)
    {
        using var command = Connection.CreateCommand();
#pragma warning disable CA2100
        command.CommandText = sql;
#pragma warning restore CA2100
        command.ExecuteNonQuery();
    }
}
