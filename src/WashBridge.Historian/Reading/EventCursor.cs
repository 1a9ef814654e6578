using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Events after a place in the log.</summary>
internal sealed class EventCursor : LogCursor
{
    private readonly Statement _statement;
    private readonly EventRows _rows;
    private WashEvent? _event;

    public EventCursor(Database database, EventRows rows, long after, int? washer)
    {
        _rows = rows;
        _statement = washer is { } id
            ? database.Prepare($"{EventRows.Select} WHERE washer = ? AND seq > ? ORDER BY seq").Bind(1, id).Bind(2, after)
            : database.Prepare($"{EventRows.Select} WHERE seq > ? ORDER BY seq").Bind(1, after);
    }

    public override LogEntry Current => new(Sequence, null, _event);

    public override bool MoveNext()
    {
        while (_statement.Step())
        {
            Sequence = _statement.Long(0);
            if (_rows.Read(_statement) is { } found)
            {
                _event = found;
                return true;
            }
        }

        return false;
    }
}

/// <summary>Reads rows of the event table. A damaged one is reported and left out.</summary>
internal sealed class EventRows(DamageLog damage)
{
    public const string Select = "SELECT seq, body, checksum, t_earliest, t_latest FROM events";

    /// <summary>Whether an event is filed under the kind that it says; searches by kind would miss it else.</summary>
    public void CheckKind(WashEvent read, string filed, long sequence)
    {
        if (WashJson.KindOf(read) != filed)
        {
            damage.Add(new Damage($"event {sequence}", sequence, sequence, read.At, $"it is filed as {filed}, but is {WashJson.KindOf(read)}"));
        }
    }

    public WashEvent? Read(Statement row)
    {
        string problem;
        try
        {
            var body = EventBody.Read(row, 1);
            if (Checksum.Of(body) == row.Long(2))
            {
                return WashJson.ReadEvent(System.Text.Encoding.UTF8.GetString(body));
            }

            problem = "the checksum does not match";
        }
        catch (DamagedException e)
        {
            problem = e.Message;
        }
        catch (Exception e) when (e is System.Text.Json.JsonException or NotSupportedException)
        {
            problem = $"not an event this program knows: {e.Message}";
        }

        damage.Add(new Damage($"event {row.Long(0)}", row.Long(0), row.Long(0), new TimeBounds(new Instant(row.Long(3)), new Instant(row.Long(4))), problem));
        return null;
    }
}
