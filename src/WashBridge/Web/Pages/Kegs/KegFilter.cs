using WashBridge.Core.Records;
using WashBridge.Core.Verdicts;

namespace WashBridge.Web.Pages.Kegs;

/// <summary>Which kegs, as the list's address tells it.</summary>
/// <param name="Period">When they were washed.</param>
/// <param name="Washer">Null: any.</param>
/// <param name="Verdict">Null: any.</param>
/// <param name="State">A key of <see cref="States"/>; null: any.</param>
/// <param name="Part">Part of the keg's id, in any case; null: any.</param>
/// <param name="Cycle">Only kegs of this cycle, whenever it was; null: any.</param>
/// <param name="Page">From 1.</param>
/// <param name="All">All on one page.</param>
public sealed record KegFilter(Period Period, string? Washer, string? Verdict, string? State, string? Part, string? Cycle, int Page = 1, bool All = false)
{
    public const int PageSize = 100;

    /// <summary>On one page, and released at a time.</summary>
    public const int Most = 1000;

    public static readonly IReadOnlyList<string> Verdicts = ["met", "not-met", "not-proven"];
    public static readonly IReadOnlyList<string> States = ["undecided", "held", "released", "rewash", "again"];

    internal static string Of(Verdict verdict) => verdict switch { Core.Verdicts.Verdict.Met => "met", Core.Verdicts.Verdict.NotMet => "not-met", _ => "not-proven" };

    internal static string Of(KegLine line) => line.Standing switch
    {
        KegStanding.Held => "held",
        KegStanding.Released => "released",
        KegStanding.ToRewash => "rewash",
        KegStanding.Undecided => "undecided",
        _ => "again",
    };

    internal bool HasVerdict(Verdict verdict) => Verdict is null || Of(verdict) == Verdict;

    internal bool HasState(KegLine line) => State is null || Of(line) == State;

    /// <summary>As the part of an address behind the question mark.</summary>
    public string Query => string.Join('&', new[]
    {
        Cycle is null ? Period.Query : null, Field("washer", Washer), Field("verdict", Verdict), Field("state", State), Field("part", Part), Field("cycle", Cycle),
        Page > 1 ? FormattableString.Invariant($"page={Page}") : null, All ? "all=1" : null,
    }.Where(f => f is not null));

    private static string? Field(string name, string? value) => string.IsNullOrEmpty(value) ? null : $"{name}={Uri.EscapeDataString(value)}";
}
