using WashBridge.Core.Recipes;
using WashBridge.Core.Time;

namespace WashBridge.Web.Live;

/// <summary>How far a cycle that runs has come with what its recipe asks.</summary>
public enum AskStanding
{
    /// <summary>Not there yet, or still within what is allowed.</summary>
    Open = 0,

    /// <summary>The longest time that the reads allow has it, the shortest has not.</summary>
    InDoubt = 1,

    /// <summary>Even the shortest time has it.</summary>
    Reached = 2,

    /// <summary>Even the shortest time is beyond what is allowed.</summary>
    Exceeded = 3,
}

/// <summary>What a recipe asks of the phase that runs.</summary>
/// <param name="Requirement">For people: what is asked.</param>
/// <param name="AtLeast">In <paramref name="Unit"/>.</param>
/// <param name="AtMost">In the same.</param>
/// <param name="Unit">Seconds, or empty for a count.</param>
/// <param name="Lower">So far; null where it can only be told when the cycle has ended.</param>
/// <param name="Upper">So far at most; null: open.</param>
public sealed record Ask(string Requirement, double? AtLeast, double? AtMost, string Unit, double? Lower, double? Upper)
{
    public const string Seconds = "s";

    public bool IsMeasured => Lower is not null;

    public AskStanding Standing => this switch
    {
        { Lower: { } lower, AtMost: { } most } when lower > most => AskStanding.Exceeded,
        { Lower: { } lower, AtLeast: { } least } when lower >= least => AskStanding.Reached,
        { Lower: not null, AtLeast: { } least } when (Upper ?? double.PositiveInfinity) >= least => AskStanding.InDoubt,
        { Lower: not null, AtMost: { } most } when (Upper ?? double.PositiveInfinity) > most => AskStanding.InDoubt,
        _ => AskStanding.Open,
    };

    internal static Ask OfTime(Requirement requirement, TimeSpan? atLeast, TimeSpan? atMost, DurationBounds? soFar) => new(
        TitleOf(requirement),
        atLeast?.TotalSeconds,
        atMost?.TotalSeconds,
        Seconds,
        soFar?.Lower.TotalSeconds,
        soFar is { IsUpperKnown: true } known ? known.Upper.TotalSeconds : null);

    internal static Ask OfCount(Requirement requirement, int atLeast, int soFar) => new(TitleOf(requirement), atLeast, null, "", soFar, soFar);

    /// <summary>What needs the samples of the whole phase is told by the verdict.</summary>
    internal static Ask Later(Requirement requirement, TimeSpan? atLeast = null) => new(TitleOf(requirement), atLeast?.TotalSeconds, null, Seconds, null, null);

    private static string TitleOf(Requirement requirement) => requirement.Title.Length > 0 ? requirement.Title : requirement.Id;
}
