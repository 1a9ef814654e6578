using System.Globalization;
using CsvHelper;

namespace WashBridge.Historian.Export;

internal sealed class CsvTable : TableWriter
{
    private readonly CsvWriter _csv;
    private readonly string[] _fields;

    private CsvTable(Stream target, int columns)
    {
        _csv = CsvWriter.Create(target, new CsvWriterOptions(), leaveOpen: true);
        _fields = new string[columns];
    }

    public static async Task<CsvTable> CreateAsync(TableColumn[] columns, Stream target, CancellationToken cancellation)
    {
        var table = new CsvTable(target, columns.Length);
        await table._csv.WriteRecordAsync([.. columns.Select(c => c.Name)], cancellation);
        return table;
    }

    public override async ValueTask AddAsync(object?[] row, CancellationToken cancellation)
    {
        for (var i = 0; i < row.Length; i++)
        {
            _fields[i] = Convert.ToString(row[i], CultureInfo.InvariantCulture) ?? "";
        }

        Rows++;
        await _csv.WriteRecordAsync(_fields, cancellation);
    }

    public override async Task<long> FinishAsync(CancellationToken cancellation)
    {
        await _csv.FlushAsync(cancellation);
        return Rows;
    }

    public override ValueTask DisposeAsync() => _csv.DisposeAsync();
}
