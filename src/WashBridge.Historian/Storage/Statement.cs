using SQLitePCL;

namespace WashBridge.Historian.Storage;

/// <summary>
/// A prepared statement. Straight on SQLite's own interface, because blobs can then be read where they lie, without a copy.
/// Spans it returns are valid until the next step or reset.
/// </summary>
internal sealed class Statement : IDisposable
{
    private readonly Database _database;
    private readonly sqlite3_stmt _handle;

    public Statement(Database database, string sql)
    {
        _database = database;
        database.Check(raw.sqlite3_prepare_v3(database.Handle, sql, raw.SQLITE_PREPARE_PERSISTENT, out _handle));
    }

    public Statement Bind(int index, long value)
    {
        raw.sqlite3_bind_int64(_handle, index, value);
        return this;
    }

    public Statement Bind(int index, double value)
    {
        raw.sqlite3_bind_double(_handle, index, value);
        return this;
    }

    public Statement Bind(int index, string? value)
    {
        _ = value is null ? raw.sqlite3_bind_null(_handle, index) : raw.sqlite3_bind_text(_handle, index, value);
        return this;
    }

    public Statement Bind(int index, ReadOnlySpan<byte> value)
    {
        _ = value.IsEmpty ? raw.sqlite3_bind_zeroblob(_handle, index, 0) : raw.sqlite3_bind_blob(_handle, index, value);
        return this;
    }

    /// <summary>Moves to the next row; false (and reset) when there is none.</summary>
    public bool Step()
    {
        var code = raw.sqlite3_step(_handle);
        if (code == raw.SQLITE_ROW)
        {
            return true;
        }

        var detail = code == raw.SQLITE_DONE ? null : _database.LastError;
        Reset();
        return code == raw.SQLITE_DONE ? false : throw _database.Failure(code, detail);
    }

    /// <summary>Runs to the end, for statements without rows.</summary>
    public void Run()
    {
        while (Step())
        {
        }
    }

    /// <summary>The first column of the first row, or <paramref name="none"/>.</summary>
    public long Scalar(long none = 0)
    {
        var value = Step() && !IsNull(0) ? Long(0) : none;
        Reset();
        return value;
    }

    public void Reset() => raw.sqlite3_reset(_handle);

    public bool IsNull(int column) => raw.sqlite3_column_type(_handle, column) == raw.SQLITE_NULL;

    public bool IsBlob(int column) => raw.sqlite3_column_type(_handle, column) == raw.SQLITE_BLOB;

    public long Long(int column) => raw.sqlite3_column_int64(_handle, column);

    public int Int(int column) => raw.sqlite3_column_int(_handle, column);

    public double Double(int column) => raw.sqlite3_column_double(_handle, column);

    public string Text(int column) => raw.sqlite3_column_text(_handle, column).utf8_to_string();

    public ReadOnlySpan<byte> Blob(int column) => raw.sqlite3_column_blob(_handle, column);

    public void Dispose() => _handle.Dispose();
}
