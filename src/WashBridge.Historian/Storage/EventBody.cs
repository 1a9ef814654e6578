using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Storage;

/// <summary>
/// An event's JSON in its row (FORMAT.md, "Events"): of a record as text, because its bytes are what the chain proves, and anybody may read them; of all else packed, for it is long
/// and says much twice.
/// </summary>
internal sealed class EventBody(int level) : IDisposable
{
    private readonly Packing _packing = new(level);
    private readonly ByteWriter _packed = new();

    /// <summary>Binds the body of an event that is to be inserted.</summary>
    public Statement Bind(Statement row, int index, WashEvent each, string json, ReadOnlySpan<byte> utf8)
    {
        if (each is IRecord)
        {
            return row.Bind(index, json);
        }

        _packed.Clear();
        _packing.Pack(utf8, _packed);
        return row.Bind(index, _packed.Written);
    }

    /// <summary>The JSON as UTF-8, valid until the next step of the row or the next call. Files of formats before 4 have text in every row.</summary>
    /// <exception cref="DamagedException">What is packed cannot be opened.</exception>
    public static ReadOnlySpan<byte> Read(Statement row, int column) => row.IsBlob(column) ? Unpacking.OfThread.Open(row.Blob(column)) : row.Blob(column);

    public void Dispose() => _packing.Dispose();
}
