using System.Buffers;
using System.Text;

namespace WashBridge.Forwarding;

/// <summary>Where a line comes from.</summary>
/// <param name="Sequence">Place in the log.</param>
/// <param name="EventId">Null for a sample.</param>
internal readonly record struct LineOrigin(long Sequence, string? EventId);

/// <summary>A line that is not in the server's hands and never will be, with the reason.</summary>
internal sealed record SetAsideLine(LineOrigin Origin, string Reason, string Line);

/// <summary>Lines for one or a few requests, in one buffer that is used again.</summary>
internal sealed class LineBatch
{
    private readonly ArrayBufferWriter<byte> _bytes = new(64 * 1024);
    private readonly List<int> _ends = [];
    private readonly List<LineOrigin> _origins = [];
    private readonly List<SetAsideLine> _inexpressible = [];

    public int Count => _ends.Count;

    public int Bytes => _bytes.WrittenCount;

    /// <summary>Everything in the log up to here is in this batch or was in one before.</summary>
    public long Through { get; set; }

    /// <summary>There was more in the log than this batch takes.</summary>
    public bool IsFull { get; set; }

    /// <summary>Numbers left out because InfluxDB has no form for them.</summary>
    public int OmittedFields { get; set; }

    /// <summary>Points that line protocol cannot express.</summary>
    public IReadOnlyList<SetAsideLine> Inexpressible => _inexpressible;

    public IBufferWriter<byte> Output => _bytes;

    public void Clear(long through)
    {
        _bytes.ResetWrittenCount();
        _ends.Clear();
        _origins.Clear();
        _inexpressible.Clear();
        Through = through;
        IsFull = false;
        OmittedFields = 0;
    }

    public Mark Position => new(_ends.Count, _inexpressible.Count, OmittedFields);

    /// <summary>Takes back everything that was added after <paramref name="mark"/>.</summary>
    public void Return(Mark mark)
    {
        CutTo(mark.Lines == 0 ? 0 : _ends[mark.Lines - 1]);
        _ends.RemoveRange(mark.Lines, _ends.Count - mark.Lines);
        _origins.RemoveRange(mark.Lines, _origins.Count - mark.Lines);
        _inexpressible.RemoveRange(mark.Inexpressible, _inexpressible.Count - mark.Inexpressible);
        OmittedFields = mark.OmittedFields;
    }

    /// <summary>Adds a point; one that cannot be expressed is kept in <see cref="Inexpressible"/>.</summary>
    public void Add(LinePoint point, long unixNanoseconds, LineOrigin origin)
    {
        OmittedFields += point.OmittedFields;
        var start = _bytes.WrittenCount;
        try
        {
            if (point.WriteTo(_bytes, unixNanoseconds))
            {
                EndLine(origin);
            }
        }
        catch (LineProtocolException e)
        {
            CutTo(start);
            AddInexpressible(origin, e.Message);
        }
    }

    public void AddInexpressible(LineOrigin origin, string reason) => _inexpressible.Add(new SetAsideLine(origin, reason, ""));

    /// <summary>Declares what was written to <see cref="Output"/> since the last line, with its line feed, to be a line.</summary>
    public void EndLine(LineOrigin origin)
    {
        _ends.Add(_bytes.WrittenCount);
        _origins.Add(origin);
    }

    public LineOrigin Origin(int line) => _origins[line];

    /// <summary>Lines <paramref name="first"/> to <paramref name="first"/> + <paramref name="count"/>, without the last line feed.</summary>
    public ReadOnlyMemory<byte> Lines(int first, int count)
    {
        var start = first == 0 ? 0 : _ends[first - 1];
        return _bytes.WrittenMemory[start..(_ends[first + count - 1] - 1)];
    }

    /// <summary>The same, as text.</summary>
    public string Text(int first, int count) => Encoding.UTF8.GetString(Lines(first, count).Span);

    private void CutTo(int bytes)
    {
        // The writer can only forget everything; what is to stay is still in place behind the reset count.
        _bytes.ResetWrittenCount();
        _bytes.Advance(bytes);
    }

    public readonly record struct Mark(int Lines, int Inexpressible, int OmittedFields);
}
