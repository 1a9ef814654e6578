namespace WashBridge.Historian.Export;

/// <summary>Writes rows to a stream, which stays open.</summary>
internal abstract class TableWriter : IAsyncDisposable
{
    protected long Rows { get; set; }

    public static async Task<TableWriter> CreateAsync(ExportFormat format, TableColumn[] columns, Stream target, CancellationToken cancellation) => format switch
    {
        ExportFormat.Csv => await CsvTable.CreateAsync(columns, target, cancellation),
        ExportFormat.Parquet => await ParquetTable.CreateAsync(columns, target, cancellation),
        _ => throw new ArgumentOutOfRangeException(nameof(format), format, "csv or parquet"),
    };

    public abstract ValueTask AddAsync(object?[] row, CancellationToken cancellation);

    /// <summary>Writes what is left and returns the number of rows.</summary>
    public abstract Task<long> FinishAsync(CancellationToken cancellation);

    public abstract ValueTask DisposeAsync();
}
