using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Forwarding;

/// <summary>One line of the set-aside file.</summary>
/// <param name="At">When it was set aside.</param>
/// <param name="Follower">Which follower gave it up.</param>
/// <param name="Sequence">Place in the historian's log: what the line was made of is still there.</param>
/// <param name="Event">Id of the event; null for a sample.</param>
/// <param name="Reason">The server's own words, or why line protocol cannot express it.</param>
/// <param name="Line">Line protocol as sent; empty where there is none.</param>
internal sealed record SetAsideEntry(DateTimeOffset At, string Follower, long Sequence, string? Event, string Reason, string Line);

/// <summary>
/// Where lines go that a server will never take: JSON lines beside the historian. They are on the disk before the cursor moves past
/// them. The file is bounded: when it is full it becomes <c>.old</c>, and the one that was <c>.old</c> is given up.
/// </summary>
internal sealed class SetAsideFile(string path, string follower, TimeProvider time, long maxBytes = SetAsideFile.DefaultMaxBytes)
{
    public const long DefaultMaxBytes = 32 * 1024 * 1024;

    /// <summary>What a run that ended before its cursor moved has already written.</summary>
    private HashSet<(long, string)>? _written;

    public string Path => path;

    private string OldPath => path + ".old";

    /// <summary>Writes <paramref name="lines"/>, less those that are in the file already. Returns how many old ones were given up for it.</summary>
    /// <param name="lines">What to keep.</param>
    /// <param name="cursor">The follower's cursor before these lines.</param>
    /// <exception cref="IOException">They are not on the disk.</exception>
    public int Append(IReadOnlyList<SetAsideLine> lines, long cursor)
    {
        _written ??= ReadAfter(cursor);
        var givenUp = RollOverIfFull();
        using var stream = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.Read);
        EndTornLine(stream);
        foreach (var line in lines)
        {
            if (_written.Add((line.Origin.Sequence, line.Line)))
            {
                var entry = new SetAsideEntry(time.GetUtcNow(), follower, line.Origin.Sequence, line.Origin.EventId, line.Reason, line.Line);
                JsonSerializer.Serialize(stream, entry, SetAsideJson.Default.SetAsideEntry);
                stream.WriteByte((byte)'\n');
            }
        }

        stream.Flush(flushToDisk: true);
        return givenUp;
    }

    /// <summary>To be called once the cursor has moved past what was appended: it cannot come again.</summary>
    public void Forget() => _written?.Clear();

    private HashSet<(long, string)> ReadAfter(long cursor) => !File.Exists(path)
        ? []
        : File.ReadLines(path).Select(Read).OfType<SetAsideEntry>().Where(e => e.Sequence > cursor).Select(e => (e.Sequence, e.Line)).ToHashSet();

    private static SetAsideEntry? Read(string line)
    {
        try
        {
            return JsonSerializer.Deserialize(line, SetAsideJson.Default.SetAsideEntry);
        }
        catch (JsonException)
        {
            // Torn by a power cut: it was not on the disk, so its cursor has not moved and it comes again.
            return null;
        }
    }

    private static void EndTornLine(FileStream stream)
    {
        if (stream.Length > 0)
        {
            stream.Seek(-1, SeekOrigin.End);
            if (stream.ReadByte() != '\n')
            {
                stream.WriteByte((byte)'\n');
            }
        }
    }

    private int RollOverIfFull()
    {
        var file = new FileInfo(path);
        if (!file.Exists || file.Length < maxBytes)
        {
            return 0;
        }

        var givenUp = File.Exists(OldPath) ? File.ReadLines(OldPath).Count() : 0;
        File.Move(path, OldPath, overwrite: true);
        return givenUp;
    }
}

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull)]
[JsonSerializable(typeof(SetAsideEntry))]
internal sealed partial class SetAsideJson : JsonSerializerContext;
