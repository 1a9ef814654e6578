using System.Text.Json;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>
/// Recomputes the chain of records and says where it breaks. Each record is checked against its own stored hash and the one before it, so that one change is one
/// break, and not all that follows. Works beside the writer: what is appended meanwhile is not looked at.
/// </summary>
internal sealed class RecordVerifier(ReadPool pool, RecordHead? expected, IProgress<HistorianProgress>? progress, CancellationToken cancellation)
{
    private const int PageRows = 1000;

    private const string Select = """
        SELECT number, event, previous, hash, e.id, e.kind, w.name, e.cycle, e.t_earliest, e.t_latest, e.body, e.checksum, e.seq
        FROM records LEFT JOIN events e ON e.seq = event LEFT JOIN washers w ON w.id = e.washer
        """;

    private readonly List<RecordBreak> _breaks = [];
    private long _found;
    private long _count;
    private long _lastNumber;
    private byte[] _lastHash = RecordChain.Beginning.ToArray();
    private bool _expectedSeen;
    private RecordEntry? _first;
    private RecordEntry? _last;

    public RecordCheck Run()
    {
        var (end, last) = pool.Read(database => (database.Prepare("SELECT max(number) FROM records").Scalar(), Counter.Last(database)));
        long? after = long.MinValue;
        while (after is { } from)
        {
            cancellation.ThrowIfCancellationRequested();
            after = pool.Read(database => CheckPage(database, from, end));
            progress?.Report(new HistorianProgress(Math.Max(0, Math.Min(after ?? end, end)), end));
        }

        CheckExpected();
        CheckUnchained(last);
        return new RecordCheck
        {
            Count = _count,
            First = _first,
            Last = _last,
            Head = _count > 0 ? new RecordHead(_lastNumber, RecordChain.Hex(_lastHash)) : null,
            Breaks = _breaks,
            BreaksFound = _found,
        };
    }

    private long? CheckPage(Database database, long after, long end)
    {
        var rows = database.Prepare($"{Select} WHERE number > ? AND number <= ? ORDER BY number LIMIT ?").Bind(1, after).Bind(2, end).Bind(3, PageRows);
        long? last = null;
        while (rows.Step())
        {
            last = rows.Long(0);
            Check(rows, last.Value);
        }

        return last;
    }

    private void Check(Statement row, long number)
    {
        _count++;
        var previous = row.Blob(2);
        var stored = row.Blob(3);
        var sequence = row.Long(1);
        var read = row.IsNull(12) ? null : Read(row.Blob(10));
        if (number != _lastNumber + 1)
        {
            Add(RecordBreakKind.Missing, number, sequence, read, number - _lastNumber == 2
                ? $"record {_lastNumber + 1} is missing"
                : number > _lastNumber ? $"records {_lastNumber + 1} to {number - 1} are missing" : $"a record cannot have the number {number}");
        }
        else if (!previous.SequenceEqual(_lastHash))
        {
            Add(RecordBreakKind.Unlinked, number, sequence, read, number == 1
                ? "it is the first, but was chained to another"
                : $"it does not follow from record {number - 1}: that one or this one was replaced and its hash made anew");
        }

        if (row.IsNull(12))
        {
            Add(RecordBreakKind.WithoutEvent, number, sequence, null, $"entry {sequence} of the log, which was this record, is no longer there");
        }
        else if (previous.Length != RecordChain.HashBytes || !stored.SequenceEqual(RecordChain.Hash(number, previous, sequence, row.Blob(4), row.Blob(10))))
        {
            Add(RecordBreakKind.Changed, number, sequence, read, "what it says does not fit its hash: it was changed, or another was put in its place");
        }
        else if (Misfiled(row, read) is { } problem)
        {
            Add(RecordBreakKind.Misfiled, number, sequence, read, problem);
        }

        CheckExpected(number, sequence, stored, read);
        (_lastNumber, _lastHash) = (number, stored.ToArray());
        if (read is IRecord)
        {
            _last = new RecordEntry(number, sequence, read, RecordChain.Hex(stored));
            _first ??= _last;
        }
    }

    /// <summary>What does not agree between what the record says and what it is searched by; null: nothing.</summary>
    private static string? Misfiled(Statement row, WashEvent? read)
    {
        if (read is not IRecord)
        {
            return read is null ? "it is not an event that this program knows" : $"it is filed among the records, but is a {WashJson.KindOf(read)}";
        }

        var (said, filed) = (
            (read.Id, WashJson.KindOf(read), read.Washer, read.CycleId, read.At.Earliest.UnixMicroseconds, read.At.Latest.UnixMicroseconds),
            (row.Text(4), row.Text(5), row.IsNull(6) ? "" : row.Text(6), row.IsNull(7) ? null : row.Text(7), row.Long(8), row.Long(9)));
        return said != filed ? $"it is filed as {filed}, but says {said}"
            : Checksum.Of(row.Blob(10)) != row.Long(11) ? "its checksum does not match, so that readers leave it out"
            : null;
    }

    private void CheckExpected(long number, long sequence, ReadOnlySpan<byte> stored, WashEvent? read)
    {
        if (expected?.Number != number)
        {
            return;
        }

        _expectedSeen = true;
        if (RecordChain.Hex(stored) != expected.Hash)
        {
            Add(RecordBreakKind.Remade, number, sequence, read, $"its hash is {RecordChain.Hex(stored)}, and {expected.Hash} was written down: records up to this one were changed and the chain made anew");
        }
    }

    private void CheckExpected()
    {
        if (expected is not null && !_expectedSeen)
        {
            Add(RecordBreakKind.CutOff, expected.Number, null, null, _lastNumber < expected.Number
                ? $"the chain ends with record {_lastNumber}, but record {expected.Number} was written down: records were cut off"
                : $"record {expected.Number}, which was written down, is not there");
        }
    }

    /// <summary>Events of the kinds that are records, which the chain does not have.</summary>
    private void CheckUnchained(long last) => pool.Read(database =>
    {
        var rows = database.Prepare($"SELECT seq, body FROM events WHERE kind IN ({RecordTable.KindList}) AND seq <= ? AND NOT EXISTS (SELECT 1 FROM records WHERE event = seq) ORDER BY seq").Bind(1, last);
        while (rows.Step())
        {
            cancellation.ThrowIfCancellationRequested();
            Add(RecordBreakKind.WithoutNumber, null, rows.Long(0), Read(rows.Blob(1)), $"entry {rows.Long(0)} of the log is a record, but not in the chain: it was put in beside the program, or taken out of the chain");
        }

        return 0;
    });

    private void Add(RecordBreakKind kind, long? number, long? sequence, WashEvent? read, string problem)
    {
        _found++;
        if (_breaks.Count < RecordCheck.MostBreaks)
        {
            _breaks.Add(new RecordBreak(kind, number, sequence, read?.At, read is IRecord { Act.By: { Length: > 0 } by } ? by : null, problem));
        }
    }

    private static WashEvent? Read(ReadOnlySpan<byte> body)
    {
        try
        {
            return WashJson.ReadEvent(RecordTable.Text(body));
        }
        catch (Exception unreadable) when (unreadable is JsonException or NotSupportedException or FormatException or ArgumentException)
        {
            return null;
        }
    }
}
