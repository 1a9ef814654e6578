namespace WashBridge.Web.Accounts;

/// <summary>How long wrong passwords lock out: longer with each. Values from memory but for the hundred.</summary>
internal static class Lockouts
{
    /// <summary>So many wrong ones in a row are taken for slips of the finger.</summary>
    public const int FreeForAccount = 4;

    /// <summary>An address may be that of a whole site.</summary>
    public const int FreeForAddress = 19;

    /// <summary>After so many in a row only an administrator lets the user in again (NIST SP 800-63B, 5.2.2: no more than 100).</summary>
    public const int MostForAccount = 100;

    public static TimeSpan First { get; } = TimeSpan.FromMinutes(1);

    public static TimeSpan Longest { get; } = TimeSpan.FromHours(1);

    /// <summary>Long enough that somebody will have looked.</summary>
    public static TimeSpan UntilUnlocked { get; } = TimeSpan.FromDays(36_500);

    public static TimeSpan AfterAccountFailures(int failures) => failures >= MostForAccount ? UntilUnlocked : After(failures - FreeForAccount);

    public static TimeSpan AfterAddressFailures(int failures) => After(failures - FreeForAddress);

    private static TimeSpan After(int beyond) => beyond <= 0 ? TimeSpan.Zero : TimeSpan.FromTicks(Math.Min(Longest.Ticks, First.Ticks << Math.Min(beyond - 1, 10)));
}
