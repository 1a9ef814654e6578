namespace WashBridge.Web.Accounts;

/// <summary>Where to go after a login: only to a page of this server, whatever the address says.</summary>
internal static class LocalAddress
{
    private const int Longest = 2000;

    public static string Or(string? address, string otherwise = "/") => IsLocal(address) ? address! : otherwise;

    /// <summary>One slash and no second one, in either direction, and nothing that a browser takes out before it reads the address (WHATWG URL, 4.4).</summary>
    public static bool IsLocal(string? address) =>
        address is ['/', ..] and { Length: <= Longest } && address is not ['/', '/' or '\\', ..] && !address.Any(c => char.IsControl(c) || c == '\\');
}
