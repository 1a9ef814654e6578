using WashBridge.Core.Time;

namespace WashBridge.Historian.Encoding;

/// <summary>What is kept of a group's frames besides their times (FORMAT.md, "Notes").</summary>
internal sealed class GroupNotes
{
    private readonly Dictionary<int, (string? Reason, ClockShift? Clock)> _notes = [];

    private GroupNotes(long[] sequences, byte[] kinds) => (Sequences, Kinds) = (sequences, kinds);

    public long[] Sequences { get; }

    public byte[] Kinds { get; }

    /// <summary>Signal numbers by rank.</summary>
    public int[] SignalIds { get; private set; } = [];

    /// <summary>The ranks of the samples of frames that do not have them in ascending order.</summary>
    public List<(int Frame, List<int> Ranks)> Orders { get; } = [];

    public (string? Reason, ClockShift? Clock) NoteOf(int frame) => _notes.GetValueOrDefault(frame);

    public static GroupNotes Read(ReadOnlySpan<byte> content)
    {
        var reader = new ByteReader(content);
        var sequences = new long[reader.Count(reader.Left)];
        long sequence = 0;
        for (var i = 0; i < sequences.Length; i++)
        {
            sequence += (long)reader.Varint();
            sequences[i] = sequence;
        }

        var notes = new GroupNotes(sequences, reader.Raw(sequences.Length).ToArray());
        var frame = 0;
        for (var left = reader.Count(sequences.Length); left > 0; left--)
        {
            frame += reader.Count(sequences.Length - 1 - frame);
            notes._notes[frame] = FrameNote.Read(ref reader);
        }

        notes.ReadOrder(ref reader);
        return notes;
    }

    private void ReadOrder(ref ByteReader reader)
    {
        SignalIds = new int[reader.Count(reader.Left)];
        for (var i = 0; i < SignalIds.Length; i++)
        {
            SignalIds[i] = reader.Count(int.MaxValue);
        }

        var frame = 0;
        for (var left = reader.Count(Sequences.Length); left > 0; left--)
        {
            frame += reader.Count(Sequences.Length - 1 - frame);
            var ranks = new List<int>();
            for (var samples = reader.Count(reader.Left); samples > 0; samples--)
            {
                ranks.Add(reader.Count(SignalIds.Length - 1));
            }

            Orders.Add((frame, ranks));
        }
    }
}
