using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

/// <summary>A historian in a folder of its own that goes with it.</summary>
internal sealed class Store : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("washdb").FullName;
    private Historian? _historian;

    public Store(HistorianOptions? options = null) => Options = options ?? new HistorianOptions();

    public HistorianOptions Options { get; set; }

    public FakeTimeProvider Time { get; } = new(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero));

    public string Path => System.IO.Path.Combine(_folder, "line.washdb");

    public Historian Historian => _historian ??= Historian.Open(Path, Options, Time);

    public static Instant Start => Instant.Parse("2031-03-05T08:00:00Z");

    public static Instant At(double seconds) => new(Start.UnixMicroseconds + (long)Math.Round(seconds * 1e6));

    public IHistorianReader Reader() => Historian.OpenReader(Path);

    public void Close()
    {
        _historian?.Dispose();
        _historian = null;
    }

    public Historian Reopen()
    {
        Close();
        return Historian;
    }

    public long Rows(string table) => (long)Sql($"SELECT count(*) FROM {table}")!;

    /// <summary>Runs SQL on the file past the historian: to look behind it, or to damage what it stored.</summary>
    public object? Sql(string sql, params (string Name, object Value)[] parameters)
    {
        using var connection = new SqliteConnection($"Data Source={Path};Pooling=False");
        connection.Open();
        using var command = connection.CreateCommand();
#pragma warning disable CA2100 // The SQL of these tests only.
        command.CommandText = sql;
#pragma warning restore CA2100
        foreach (var (name, value) in parameters)
        {
            command.Parameters.AddWithValue(name, value);
        }

        return command.ExecuteScalar();
    }

    /// <summary>Changes one bit in the middle of a blob or text.</summary>
    public void FlipBit(string table, string column, string where)
    {
        var value = Sql($"SELECT CAST({column} AS BLOB) FROM {table} WHERE {where}") as byte[] ?? throw new InvalidOperationException("nothing to damage");
        value[value.Length / 2] ^= 0x04;
        Sql($"UPDATE {table} SET {column} = CAST($value AS {Sql($"SELECT typeof({column}) FROM {table} WHERE {where}")}) WHERE {where}", ("$value", value));
    }

    public void Dispose()
    {
        Close();
        Directory.Delete(_folder, recursive: true);
    }
}
