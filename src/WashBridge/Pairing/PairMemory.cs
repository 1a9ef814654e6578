using System.Text.Json;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Pairing;

/// <summary>How far one log was copied into the other.</summary>
/// <param name="Of">The id of the log that was copied; null: none was.</param>
/// <param name="Theirs">All of its entries up to this one were looked at.</param>
/// <param name="Ours">The last entry of the copy then.</param>
internal sealed record CopyMark(string? Of, long Theirs, long Ours)
{
    public static CopyMark None { get; } = new(null, 0, 0);

    /// <summary>This mark, if it is of that log.</summary>
    public CopyMark For(string store) => Of == store ? this : None;
}

/// <summary>Up to when both have read, each for itself, before this log began to copy the other: each has records of its own of that time.</summary>
/// <param name="Ends">When each group was last read for this log.</param>
/// <param name="Cycles">Cycles of the other that began in that time, and are in this log under ids of its own.</param>
internal sealed record Fork(IReadOnlyList<ForkEnd> Ends, IReadOnlyList<string> Cycles)
{
    /// <summary>Long after a read, what follows from it is in the log.</summary>
    private static readonly TimeSpan LongestDelay = TimeSpan.FromMinutes(1);

    public static Fork None { get; } = new([], []);

    public static Fork At(LastReads reads) => new([.. reads.ToDictionary().Select(r => new ForkEnd(r.Key.Washer, r.Key.Group, r.Value))], []);

    /// <summary>Nothing of before its ends can come any more, but for what belongs to its cycles.</summary>
    public bool IsPast(Instant? read) => Ends.Count > 0 && read - Ends.Max(e => e.Last) > LongestDelay;

    public Instant? EndOf(string washer, int group) => Ends.FirstOrDefault(e => e.Washer == washer && e.Group == group)?.Last;

    public Instant? EndOf(string washer) => Ends.Where(e => e.Washer == washer).Select(e => (Instant?)e.Last).Max();
}

internal sealed record ForkEnd(string Washer, int Group, Instant Last);

/// <summary>What a bridge remembers of the pair across restarts.</summary>
/// <param name="Store">The id of its own log.</param>
/// <param name="Told">What people told the other is taken up to this entry of its log, besides what was copied.</param>
/// <param name="OwnEnd">The last entry of the log that was its own when it began to copy.</param>
/// <param name="IsCopying">The last frames of the log are the other's.</param>
/// <param name="LeftOut">Frames of this log that are not folded: see <see cref="FoldGate"/>.</param>
internal sealed record PairMemory(string Store, CopyMark Mark, long Told, long OwnEnd, bool IsCopying, Fork Fork, IReadOnlyList<LogRange> LeftOut)
{
    public const string Follower = "pair";

    /// <summary>Null where a store was never one of a pair.</summary>
    public static PairMemory? Read(IHistorianReader historian) =>
        historian.ReadFollower(Follower)?.State is { } text ? JsonSerializer.Deserialize<PairMemory>(text, JsonSerializerOptions.Web) : null;

    public static PairMemory New() => new($"{Guid.NewGuid():N}", CopyMark.None, Told: 0, OwnEnd: 0, IsCopying: false, Fork.None, []);

    /// <summary>It waits for nothing in its own log, and must not hold up what may be dropped there.</summary>
    public FollowerState ToState(IHistorianReader historian) => new(Follower, historian.LastSequence, JsonSerializer.Serialize(this, JsonSerializerOptions.Web));

    /// <summary>
    /// Whether one log holds what another has not: entries behind its own copy of the other, for these are its own, that the other has not copied either.
    /// </summary>
    /// <param name="last">Its last entry.</param>
    /// <param name="copied">What it has copied of the other.</param>
    /// <param name="others">What the other has copied of it.</param>
    public static bool HasNews(long last, CopyMark copied, CopyMark others) => last > copied.Ours && last > others.Theirs;
}
