using Parquet;
using Parquet.Schema;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Export;

internal sealed class ParquetTable : TableWriter
{
    /// <summary>Rows of a row group: bounds the memory, and is what a reader must read at least.</summary>
    private const int GroupRows = 50_000;

    private readonly TableColumn[] _columns;
    private readonly DataField[] _fields;
    private readonly ParquetWriter _writer;
    private readonly List<object?[]> _rows = [];

    private ParquetTable(TableColumn[] columns, DataField[] fields, ParquetWriter writer) => (_columns, _fields, _writer) = (columns, fields, writer);

    public static async Task<ParquetTable> CreateAsync(TableColumn[] columns, Stream target, CancellationToken cancellation)
    {
        DataField[] fields = [.. columns.Select(Field)];
        return new ParquetTable(columns, fields, await ParquetWriter.CreateAsync(new ParquetSchema(fields), target, cancellationToken: cancellation));
    }

    public override async ValueTask AddAsync(object?[] row, CancellationToken cancellation)
    {
        Rows++;
        _rows.Add(row);
        if (_rows.Count == GroupRows)
        {
            await WriteGroupAsync(cancellation);
        }
    }

    public override async Task<long> FinishAsync(CancellationToken cancellation)
    {
        if (_rows.Count > 0)
        {
            await WriteGroupAsync(cancellation);
        }

        return Rows;
    }

    public override ValueTask DisposeAsync() => _writer.DisposeAsync();

    private static DataField Field(TableColumn column) => column.Kind switch
    {
        ColumnKind.Text => new DataField<string>(column.Name, true),
        ColumnKind.Number => new DataField<double?>(column.Name),
        _ => new DataField<long?>(column.Name),
    };

    private async Task WriteGroupAsync(CancellationToken cancellation)
    {
        using var group = _writer.CreateRowGroup();
        for (var i = 0; i < _columns.Length; i++)
        {
            var (column, field) = (i, _fields[i]);
            await (_columns[i].Kind switch
            {
                ColumnKind.Text => group.WriteAsync(field, _rows.ConvertAll(r => (string?)r[column])!),
                ColumnKind.Number => group.WriteAsync<double>(field, Values<double>(r => (double?)r[column]), cancellationToken: cancellation),
                ColumnKind.Integer => group.WriteAsync<long>(field, Values<long>(r => (long?)r[column]), cancellationToken: cancellation),
                _ => group.WriteAsync<long>(field, Values<long>(r => ((Instant?)r[column])?.UnixMicroseconds), cancellationToken: cancellation),
            });
        }

        group.CompleteValidate();
        _rows.Clear();
    }

    private ReadOnlyMemory<T?> Values<T>(Func<object?[], T?> value)
        where T : struct => _rows.ConvertAll(r => value(r)).ToArray();
}
