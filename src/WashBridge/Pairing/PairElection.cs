namespace WashBridge.Pairing;

/// <summary>How one of the two stands, as both of them know it.</summary>
/// <param name="Store">The id of its log.</param>
/// <param name="Reads">Its reads go into the log.</param>
/// <param name="IsFirst">As the site file says.</param>
/// <param name="IsWarm">It has copied the other since it was started, and has kept its own reads meanwhile: no moment would be missing.</param>
/// <param name="HasNews">Its log holds what the other's does not.</param>
internal readonly record struct Standing(string Store, bool Reads, bool IsFirst, bool IsWarm, bool HasNews);

/// <summary>
/// Which of the two reads. Both ask the same of the same facts, so that they come to the same answer. Reading twice is bad, for every washing would be in two records;
/// not reading is worse, for there would be none.
/// </summary>
internal static class PairElection
{
    /// <param name="partner">Null: it has not answered this time.</param>
    /// <param name="isSilent">It has not answered for so long that it counts as gone.</param>
    public static bool Reads(Standing self, Standing? partner, bool isSilent) => partner switch
    {
        null => self.Reads || isSilent,
        { } other when self.Reads && other.Reads => Precedes(self, other),
        { } other when self.Reads != other.Reads => self.Reads,
        { } other when self.IsWarm != other.IsWarm => self.IsWarm,
        { } other when self.HasNews != other.HasNews => self.HasNews,
        { } other => Precedes(self, other),
    };

    /// <summary>Where the site files make both the first, or neither, the ids of their logs decide.</summary>
    private static bool Precedes(Standing self, Standing other) =>
        self.IsFirst != other.IsFirst ? self.IsFirst : string.CompareOrdinal(self.Store, other.Store) < 0;
}
